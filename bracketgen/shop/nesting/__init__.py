"""Where parts lie on sheets and offcuts, and what cutting them may cost."""
