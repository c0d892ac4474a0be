"""A job put into words: the placeholders of sentences, labels, status, replies."""
