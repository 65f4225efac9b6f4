"""What stands on a brake sheet: the table of bends, the small pictures, the words."""
