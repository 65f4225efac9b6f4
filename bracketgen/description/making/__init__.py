"""From a checked description to an exact part."""
