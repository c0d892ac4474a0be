"""Every state explored: the routine driven through its own front door, and what must hold there."""
