"""What is ordered from the cutting shop: parts, quantities, and the sheet that says so."""
