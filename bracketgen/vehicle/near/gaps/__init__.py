"""Exact gaps between solids in space, still and moved."""
