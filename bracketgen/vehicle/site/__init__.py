"""What a person wrote down at the vehicle."""
