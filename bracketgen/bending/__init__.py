"""How much metal a bend takes, the flat, and the folded part."""
