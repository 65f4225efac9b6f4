"""What gives between two bodies, and whether it gives enough."""
