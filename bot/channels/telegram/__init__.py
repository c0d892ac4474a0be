"""The chat platform: its bot interface as a channel."""

CHANNEL = "telegram"
