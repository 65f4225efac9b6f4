"""What the bench and the cutting shop work by: pure values."""
