"""What is known of one recovery: facts, acts, entries, and the fold that makes a job of them."""
