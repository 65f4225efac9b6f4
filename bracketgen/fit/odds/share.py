"""A share of builds with how sure it is."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import Final

#: 95 % of a normal distribution lie within so many standard deviations.
_Z95: Final = 1.959964


@dataclass(frozen=True, slots=True)
class Share:
    """`value` of `builds` builds, 0 to 1; the true share lies between `low` and `high` with 95 % certainty."""

    value: float
    low: float
    high: float
    builds: int


def share_of(hits: float, builds: int) -> Share:
    """The share with its 95 % interval by Wilson's score. Raises ValueError for no builds.

    Source: E. B. Wilson, Journal of the American Statistical Association 22 (1927), pp. 209-212 (from memory).
    """
    if builds < 1 or not 0 <= hits <= builds:
        raise ValueError(f"{hits:g} of {builds} builds is no share")
    p, z2 = hits / builds, _Z95**2 / builds
    middle = (p + z2 / 2) / (1 + z2)
    half = _Z95 * sqrt(p * (1 - p) / builds + z2 / (4 * builds)) / (1 + z2)
    return Share(p, max(0.0, min(middle - half, p)), min(1.0, max(middle + half, p)), builds)
