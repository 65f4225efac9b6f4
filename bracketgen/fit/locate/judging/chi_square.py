"""Chi-square and normal distribution, by their classical series.

Source of the formulas: Abramowitz and Stegun, Handbook of Mathematical Functions, 26.4.19, 6.5.29 and 6.5.31
(from memory).
"""

from __future__ import annotations

import math
from statistics import NormalDist
from typing import Final

_TERMS: Final = 10_000
_TINY: Final = 1e-300


def chi_square_share(value: float, freedom: int) -> float:
    """Share (0 to 1) of the distribution with `freedom` degrees that lies below `value`."""
    if value <= 0.0:
        return 0.0
    a, x = freedom / 2.0, value / 2.0
    front = math.exp(-x + a * math.log(x) - math.lgamma(a))
    return front * _series(a, x) if x < a + 1.0 else 1.0 - front * _fraction(a, x)


def chi_square_point(share: float, freedom: int) -> float:
    """The value below which a `share` (over 0, under 1) of the distribution lies; good to 1e-9."""
    low, high = 0.0, float(freedom + 10)
    while chi_square_share(high, freedom) < share:
        high *= 2.0
    for _ in range(200):
        middle = (low + high) / 2.0
        low, high = (middle, high) if chi_square_share(middle, freedom) < share else (low, middle)
        if high - low < 1e-10 * max(1.0, high):
            break
    return (low + high) / 2.0


def normal_limit(significance: float) -> float:
    """How many standard deviations a normal value exceeds, to either side, with this chance."""
    return NormalDist().inv_cdf(1.0 - significance / 2.0)


def _series(a: float, x: float) -> float:
    total = term = 1.0 / a
    for n in range(1, _TERMS):
        term *= x / (a + n)
        total += term
        if term < total * 1e-16:
            break
    return total


def _fraction(a: float, x: float) -> float:
    """Continued fraction for the upper tail, from the front."""
    b = x + 1.0 - a
    c, d = 1.0 / _TINY, 1.0 / b
    value = d
    for n in range(1, _TERMS):
        factor = -n * (n - a)
        b += 2.0
        d = 1.0 / (factor * d + b or _TINY)
        c = b + factor / c or _TINY
        value *= c * d
        if abs(c * d - 1.0) < 1e-16:
            break
    return value
