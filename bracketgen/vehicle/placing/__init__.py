"""Where the carried thing hangs best in the room it has."""
