"""The tools of a shop: outlines, lengths, limits."""
