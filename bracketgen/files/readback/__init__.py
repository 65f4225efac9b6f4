"""Written drawings read again from their bytes and held against the part."""
