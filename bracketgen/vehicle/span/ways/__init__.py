"""Where the metal may run between two seats: planes, bend lines, widths, found by number before anything is drawn."""
