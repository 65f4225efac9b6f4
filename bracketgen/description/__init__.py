"""TOML text to a validated model with places, and from there to a Part."""
