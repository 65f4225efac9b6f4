"""The geometry of a cut file as it stands in the file, worked out apart from the model's own formulas."""
