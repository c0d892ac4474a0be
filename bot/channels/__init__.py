"""Channels: how messages come in and go out."""
