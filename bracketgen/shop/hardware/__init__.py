"""What else a part needs to be put up: bolts, washers, nuts, isolators, welds."""
