"""Hoses between two fittings: long enough, no bend too tight, clamped."""
