"""Where the old holes are, and how sure that is."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.special import chdtri

from bracketgen.geometry.arrays import Floats
from bracketgen.geometry.space import Frame, Vector


@dataclass(frozen=True, slots=True)
class LocatedHole:
    """One old hole: its centre on the face, and the direction out of the face, in the site's frame, mm.

    `diameter_mm` is what a bolt finds there (the short diameter of a worn hole). `thread` is its bolt size when tapped.
    """

    id: str
    face: str
    body: str
    centre: Vector
    normal: Vector
    diameter_mm: float | None
    thread: str | None


@dataclass(frozen=True, slots=True)
class Residual:
    """One reading after adjustment: measured less computed, in `unit`; and the test of whether it is out.

    `sigma` is what the reading was taken to be good for, `redundancy` (0 to 1) how much the others check it,
    `w` the residual over its own standard deviation (None where nothing checks it). `ends` are the holes and faces
    that it joins.
    """

    reading: int
    text: str
    measured: float
    residual: float
    sigma: float
    unit: str
    redundancy: float
    w: float | None
    kind: str = ""
    ends: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Located:
    """The solution: holes in order, their joint covariance (3 n x 3 n, mm2, in that order), faces, residuals.

    `suspect` is the index of the one reading that looks wrong, None when none does. `mirror` names faces
    that fit the readings as well elsewhere, mirrored or turned over, and `mirror_words` how. `loose` names what the
    readings can't determine. `suspect_error` is about how far the suspect is out, in its own unit, `suspect_alike`
    are readings on which the same mistake would look the same, `suspect_limit` what |w| has to exceed.
    Without a mistake the variance factor lies within `chi_square_bounds` 95 times in 100; far beyond them the
    covariance was multiplied by `widened`.
    """

    holes: tuple[LocatedHole, ...]
    covariance: Floats
    faces: dict[str, Frame]
    residuals: tuple[Residual, ...]
    variance_factor: float
    freedom: int
    suspect: int | None
    mirror: tuple[str, ...]
    loose: tuple[str, ...]
    advice: tuple[str, ...]
    mirror_words: tuple[str, ...] = ()
    suspect_error: float | None = None
    suspect_alike: tuple[int, ...] = ()
    suspect_limit: float = 0.0
    chi_square_bounds: tuple[float, float] = (0.0, 0.0)
    widened: float = 1.0

    def hole(self, hole_id: str) -> LocatedHole:
        """The hole 'face.hole'; KeyError when there is none."""
        for hole in self.holes:
            if hole.id == hole_id:
                return hole
        raise KeyError(hole_id)

    def covariance_of(self, hole_id: str) -> Floats:
        """3 x 3 covariance of one hole's centre, mm2."""
        n = [h.id for h in self.holes].index(hole_id)
        return self.covariance[3 * n : 3 * n + 3, 3 * n : 3 * n + 3]


# -- how far one hole may be off: the ellipsoid of its place

#: Smaller than this share of the largest axis is rounding, not an uncertainty.
_FLAT: Final = 1e-6
#: A hole that may be off by more than this share of the site's size is loose (what is open stands with its size).
_ANYWHERE: Final = 0.3


@dataclass(frozen=True, slots=True)
class ErrorEllipsoid:
    """One standard deviation along x, y, z of the site, mm; and along the ellipsoid's own axes, largest first.

    `axes_95_mm` hold the true place 95 times in 100: `axes_mm` times the root of chi-square's 95 % point for as many
    degrees of freedom as the ellipsoid has axes.
    """

    sigma_mm: Vector
    axes_mm: Vector
    axes_95_mm: Vector
    directions: tuple[Vector, Vector, Vector]


def error_ellipsoid(covariance: Floats) -> ErrorEllipsoid:
    """The ellipsoid of a 3 x 3 covariance in mm2."""
    sizes, ways = np.linalg.eigh(covariance)
    axes = np.sqrt(np.maximum(sizes[::-1], 0.0))
    axes = np.where(axes > _FLAT * max(float(axes[0]), 1e-9), axes, 0.0)
    count = int(np.count_nonzero(axes))
    factor = math.sqrt(chdtri(count, 0.05)) if count else 0.0
    directions = [_upward(ways[:, k]) for k in (2, 1, 0)]
    sigma = np.sqrt(np.maximum(np.diag(covariance), 0.0))
    return ErrorEllipsoid(
        vector(sigma), vector(axes), vector(axes * factor), (directions[0], directions[1], directions[2])
    )


def is_loose(located: Located, hole_id: str) -> bool:
    """Whether a hole may be anywhere: off by a share of the site's size that no reading is off by."""
    points = np.array([hole.centre for hole in located.holes])
    size = max(1.0, float(np.ptp(points, axis=0).max()))
    return error_ellipsoid(located.covariance_of(hole_id)).axes_mm[0] > _ANYWHERE * size


def _upward(way: Floats) -> Vector:
    """A direction with its largest part positive."""
    return vector(way * np.sign(way[np.argmax(np.abs(way))]))


def vector(v: Floats) -> Vector:
    """Three numbers as a plain vector, without minus zeros."""
    return (float(v[0]) + 0.0, float(v[1]) + 0.0, float(v[2]) + 0.0)
