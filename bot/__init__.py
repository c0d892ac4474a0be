"""The shell around the flows: channels, the journal, timers, voice, exports, commands."""
