"""One message in, one transaction out: jobs at hand, chats, crew, trail."""
