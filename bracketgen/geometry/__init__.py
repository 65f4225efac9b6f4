"""Exact plane geometry of lines and circular arcs; one door to shapely for scratch copies."""
