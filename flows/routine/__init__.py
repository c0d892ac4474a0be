"""The questions and steps, and when each is wanted: sections, items, conditions."""
