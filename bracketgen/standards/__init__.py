"""Read-only tables with a source for every row, and typed look-ups."""
