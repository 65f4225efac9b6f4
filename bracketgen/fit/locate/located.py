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
    `w` the residual over its own standard deviation (None where nothing checks it).
    """

    reading: int
    text: str
    measured: float
    residual: float
    sigma: float
    unit: str
    redundancy: float
    w: float | None


@dataclass(frozen=True, slots=True, eq=False)
class Located:
    """The solution: holes in order, their joint covariance (3 n x 3 n, mm2, in that order), faces, residuals.

    `suspect` is the index of the one reading that looks wrong, None when none does. `mirror` names faces
    whose mirror image fits the readings as well. `loose` names what the readings can't determine.
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
