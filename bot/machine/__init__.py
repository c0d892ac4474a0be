"""The machine: clock, settings, log, secret files, pictures."""
