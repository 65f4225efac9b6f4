"""How what is serviced is gripped and taken away."""
