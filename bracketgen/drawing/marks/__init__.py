"""What every sheet is made with: letters, free room, labels with leaders, sizes, words of holes and bends."""
