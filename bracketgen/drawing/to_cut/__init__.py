"""What a cutting machine follows: the blank of one part, a test strip, sheets full of parts."""
