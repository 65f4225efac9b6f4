"""Brackets that join old holes with the holes of what is carried, found without anyone drawing."""
