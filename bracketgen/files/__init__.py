"""One file format a file; the only room that writes."""
