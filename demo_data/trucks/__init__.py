"""Cards of the invented trucks."""
