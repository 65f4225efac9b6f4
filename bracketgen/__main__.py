"""`python -m bracketgen` is the command line too, where the scripts folder is not on the path."""

from bracketgen.terminal.cli import main

if __name__ == "__main__":
    main()
