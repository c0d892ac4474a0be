"""One event, one turn: its entries, its replies, and the timers wanted after it."""
