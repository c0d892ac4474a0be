"""Packaged tables, read once; SOURCES.md says where each comes from."""
