"""The part in its place on the vehicle, with what stands near."""
