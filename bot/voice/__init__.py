"""Voice: hear spoken answers by the grammar of their question, and speak replies, offline."""
