"""The metal of a partly bent part against the tools while one more bend closes."""
