"""Two round holes in a flat part: the odds in closed form.

The part shifts and turns freely, so only the distance between its holes counts against that between their mates: both
bolts go in when the difference is at most the play of both bolts together.
"""

from __future__ import annotations

from math import erf, exp, isfinite, pi, sqrt


def play_mm(hole_mm: float, bolt_mm: float, old_hole_mm: float | None = None) -> float:
    """How far a bolt may stand off the middle of the hole, to every side, mm: (hole - bolt) / 2.

    A clear old hole gives its own play on top, a tapped one (None) nothing: floating and fixed fasteners.
    Source: ASME Y14.5, appendix on the formulas for positional tolerancing (from memory). Raises ValueError for a
    hole smaller than its bolt.
    """
    sizes = (hole_mm,) if old_hole_mm is None else (hole_mm, old_hole_mm)
    if not all(isfinite(s) and s >= bolt_mm > 0 for s in sizes):
        raise ValueError(f"a bolt of {bolt_mm:g} mm doesn't go through a hole of {min(sizes):g} mm")
    return sum(s - bolt_mm for s in sizes) / 2.0


def two_hole_share(plays_mm: float, sigma_mm: float, limit_mm: float = 0.0, offset_mm: float = 0.0) -> float:
    """Share of builds, 0 to 1, in which both bolts go in.

    `plays_mm` is the play of both bolts together, `sigma_mm` one standard deviation of the normal part of the error in
    the distance, `limit_mm` an evenly spread part (plus or minus), `offset_mm` what the distance is off from the start.
    All 0 or more, except the offset. Raises ValueError otherwise.
    """
    if not (plays_mm >= 0 and sigma_mm >= 0 and limit_mm >= 0):
        raise ValueError("play, standard deviation and limit are 0 or more")
    return _below(plays_mm - offset_mm, sigma_mm, limit_mm) - _below(-plays_mm - offset_mm, sigma_mm, limit_mm)


def _below(x: float, sigma: float, limit: float) -> float:
    """Chance that the sum of a normal and an evenly spread error is at most x."""
    if sigma == 0 and limit == 0:
        return 1.0 if x >= 0 else 0.0
    if sigma == 0:
        return min(1.0, max(0.0, (x + limit) / (2 * limit)))
    if limit < 1e-6 * sigma:
        return _normal(x / sigma)
    a, b = (x - limit) / sigma, (x + limit) / sigma
    return (_integral(b) - _integral(a)) * sigma / (2 * limit)


def _normal(z: float) -> float:
    return 0.5 * (1.0 + erf(z / sqrt(2.0)))


def _integral(z: float) -> float:
    """The normal distribution integrated up to z."""
    return z * _normal(z) + exp(-0.5 * z * z) / sqrt(2 * pi)
