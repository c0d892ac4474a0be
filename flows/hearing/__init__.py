"""Words to intents: what a driver said, in the light of what is open."""
