"""The largest size that fits, for faults that say what would."""

from __future__ import annotations

from collections.abc import Callable

from bracketgen.errors import GeometryFault

#: What is told is a whole number of steps of 0.05 mm: a plain figure that a person can type.
_STEPS_PER_MM = 20


def largest_mm(make: Callable[[float], object], below_mm: float) -> float:
    """The largest size below `below_mm` that `make` doesn't refuse with GeometryFault, 0 when there is none."""
    low, high = 0, round(below_mm * _STEPS_PER_MM)
    while high - low > 1:
        middle = (low + high) // 2
        try:
            make(middle / _STEPS_PER_MM)
        except GeometryFault:
            high = middle
        else:
            low = middle
    return low / _STEPS_PER_MM
