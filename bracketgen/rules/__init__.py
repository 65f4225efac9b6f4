"""One rule, one record and one small function; limits come from tables."""
