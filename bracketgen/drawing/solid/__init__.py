"""The folded part as pieces in space, seen from one side."""
