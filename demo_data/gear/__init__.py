"""Cards of the invented company's gear."""
