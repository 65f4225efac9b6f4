"""What every sheet is made with: letters, colours, points along curves, free room."""
