"""Anyone's drawing: read, checked for what would spoil it, mended."""
