"""How sure the positions are, which reading looks wrong, what is loose, and what to measure next."""
