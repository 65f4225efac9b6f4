"""Bending a part on a press brake or a leaf brake: in which order, and to which figures."""
