"""What may stand in a description: one model class a table, with help for editors."""
