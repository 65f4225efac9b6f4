"""Figures of one bend: over-bend, force, gauge distance."""
