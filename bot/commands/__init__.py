"""The command line, and the one place where parts are put together."""
