"""What is marked on the view of a flat: holes, bends, sizes, findings, and the legend under it."""
