"""One file a command: what it is called with, and what it tells."""
