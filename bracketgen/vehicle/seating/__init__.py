"""The part on the vehicle: bolted to old holes and to what it carries."""
