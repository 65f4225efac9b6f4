"""What stands near: solids, gaps, motion."""
