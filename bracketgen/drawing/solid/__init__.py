"""Solids in space: the folded part's exact skin, meshes, and what of them is seen."""
