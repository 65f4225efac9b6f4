"""Where panels meet: the tree of joints, and every panel trimmed to its bends."""
