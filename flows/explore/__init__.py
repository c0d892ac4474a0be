"""Every state explored: the routine driven through its front door, and what must hold."""
