"""From what was typed to what is to be done."""
