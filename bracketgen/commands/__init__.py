"""The commands, one a file: options, work and words; the first line of each is its line in the help."""
