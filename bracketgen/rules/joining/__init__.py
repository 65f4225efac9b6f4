"""Rules about what holds a part: rubber and paint in the grip of a bolt, welds."""
