"""From readings to positions: adjustment, doubts, advice."""
