"""The commands; the only room that speaks to a person."""
