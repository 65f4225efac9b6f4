"""What the commands share: the command line, options, input files, parts one after another, words on the screen."""
