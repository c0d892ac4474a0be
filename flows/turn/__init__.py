"""One event, one turn: what it makes of a job, what is said, which timers are wanted."""
