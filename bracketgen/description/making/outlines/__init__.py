"""The outline of a panel with its holes, openings and notches, before its bends."""
