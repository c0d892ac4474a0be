"""Cards of the invented vehicles."""
