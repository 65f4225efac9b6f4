"""Parts of the sheet for a person who makes the bracket with hand tools."""
