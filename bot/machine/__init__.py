"""The computer we run on: clocks, settings, log, secret files, pictures."""
