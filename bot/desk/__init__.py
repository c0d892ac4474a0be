"""One message in, one transaction out: jobs in memory, chats, crew, trail."""
