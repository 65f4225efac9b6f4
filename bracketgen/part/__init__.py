"""What a bracket is: panels joined by bends in one stock."""
