"""The vehicle: where old holes really are, what stands near, and whether a part fits there."""
