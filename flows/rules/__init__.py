"""The safety rules S1 to S16, over acts, facts and messages; they know nothing else."""
