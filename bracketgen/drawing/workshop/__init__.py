"""Parts of the sheets that a workshop makes a bracket by: lines, views, tables, title block."""
