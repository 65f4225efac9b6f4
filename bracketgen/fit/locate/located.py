"""Where the old holes are, and how sure that is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from bracketgen.geometry.frame import Frame, Vector

Floats = npt.NDArray[np.float64]


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
