"""Whether a spanner or a socket gets onto every bolt and nut, and can turn there."""
