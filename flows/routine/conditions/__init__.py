"""Conditions that sections and items use, one file a subject."""
