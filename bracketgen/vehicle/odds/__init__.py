"""In how many of many builds does every bolt go in, what stops the others, and what to change."""
