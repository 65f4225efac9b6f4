"""How far one hole may be off: the ellipsoid of its place."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from bracketgen.fit.locate.judging.chi_square import chi_square_point
from bracketgen.fit.locate.located import Floats, Located
from bracketgen.geometry.frame import Vector

#: Smaller than this share of the largest axis is rounding, not an uncertainty.
_FLAT: Final = 1e-6
#: A hole that may be off by more than this share of the site's size is loose (what is open stands with its size).
_ANYWHERE: Final = 0.3


@dataclass(frozen=True, slots=True)
class Spread:
    """One standard deviation along x, y, z of the site, mm; and along the ellipsoid's own axes, largest first.

    `axes_95_mm` hold the true place 95 times in 100: `axes_mm` times the root of chi-square's 95 % point for as many
    degrees of freedom as the ellipsoid has axes.
    """

    sigma_mm: Vector
    axes_mm: Vector
    axes_95_mm: Vector
    directions: tuple[Vector, Vector, Vector]


def spread_of(covariance: Floats) -> Spread:
    """The ellipsoid of a 3 x 3 covariance in mm2."""
    sizes, ways = np.linalg.eigh(covariance)
    axes = np.sqrt(np.maximum(sizes[::-1], 0.0))
    axes = np.where(axes > _FLAT * max(float(axes[0]), 1e-9), axes, 0.0)
    count = int(np.count_nonzero(axes))
    factor = math.sqrt(chi_square_point(0.95, count)) if count else 0.0
    directions = [_upward(ways[:, k]) for k in (2, 1, 0)]
    sigma = np.sqrt(np.maximum(np.diag(covariance), 0.0))
    return Spread(_vector(sigma), _vector(axes), _vector(axes * factor), (directions[0], directions[1], directions[2]))


def is_loose(located: Located, hole_id: str) -> bool:
    """Whether a hole may be anywhere: off by a share of the site's size that no reading is off by."""
    points = np.array([hole.centre for hole in located.holes])
    size = max(1.0, float(np.ptp(points, axis=0).max()))
    return spread_of(located.covariance_of(hole_id)).axes_mm[0] > _ANYWHERE * size


def _upward(way: Floats) -> Vector:
    """A direction with its largest part positive."""
    return _vector(way * np.sign(way[np.argmax(np.abs(way))]))


def _vector(v: Floats) -> Vector:
    return (float(v[0]) + 0.0, float(v[1]) + 0.0, float(v[2]) + 0.0)
