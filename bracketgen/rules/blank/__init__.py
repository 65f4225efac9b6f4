"""Rules about the part or its blank as a whole."""
