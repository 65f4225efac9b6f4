"""Rules about holes."""
