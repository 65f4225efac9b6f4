"""The cut file: its dialects, its lint, and reading it back group code by group code."""
