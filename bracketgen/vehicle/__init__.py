"""The vehicle: what was measured on it, where its holes are, what stands near, and how the part sits in its place."""
