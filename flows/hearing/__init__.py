"""Words to intents: the meaning of a driver's words, in the light of the open question."""
