"""What a person reads: plain lines that fit a terminal."""
