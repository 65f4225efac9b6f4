"""The folded part for other programs and for printers in plastic."""
