"""Rules about bends and what lies near them."""
