"""Where the old holes are, and how sure that is."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.special import chdtrc, chdtri

from bracketgen.geometry.arrays import Floats
from bracketgen.geometry.space import Frame, Vector, vector
from bracketgen.standards.fasteners import Fit, clearance_hole, fastener, fastener_sizes
from bracketgen.vehicle.locate.adjustment import (
    Certainty,
    Suspicion,
    certainty,
    hole_slopes,
    solved,
    suspicion,
    with_open,
)
from bracketgen.vehicle.locate.doubts import advice, images, looseness, rough_places
from bracketgen.vehicle.locate.guesses import frame_toward, seen_x
from bracketgen.vehicle.locate.network import Network, State
from bracketgen.vehicle.locate.observations import Observations
from bracketgen.vehicle.locate.readings import ReadingInWords, problem_of, round_diameter_mm
from bracketgen.vehicle.site import Site


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

    @property
    def bolt(self) -> str | None:
        """The thread's size, else the largest metric bolt whose close clearance hole the old one holds; None: none."""
        if self.thread is not None:
            return fastener(self.thread).size
        most = (self.diameter_mm or 0.0) + 1e-6
        metric = [s for s in fastener_sizes() if s.startswith("M")]
        return next((s for s in reversed(metric) if clearance_hole(s, Fit.CLOSE).diameter_mm <= most), None)


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
    return vector(way * np.sign(way[np.argmax(np.abs(way))]) + 0.0)


#: When readings contradict each other more than one site in this many would by chance, their errors are made larger.
_ONE_IN: Final = 1000
#: A worn hole needs its mating part or its unworn end from this difference on (common practice, no source).
_WORN_MM: Final = 0.3


def locate(site: Site) -> Located:
    """Where the old holes are. Raises InputFaults with every reading that makes no sense.

    The covariance rests on the errors that the readings are taken to have; where they disagree far more than that
    allows (chi-square beyond 99.9 %), it is multiplied by the variance factor. What is loose stands in it with the
    size of the site as one standard deviation.
    """
    problem = problem_of(site)
    network, readings = problem.network, problem.readings
    found = solved(network, readings, problem.hints)
    sure = certainty(network, readings, found.state)
    doubt = suspicion(sure, readings.sigma, readings.reading)
    factor, wide, bounds = 0.0, 1.0, (0.0, 0.0)
    if sure.freedom > 0:
        factor = sure.chi_square / sure.freedom
        wide = factor if chdtrc(sure.freedom, sure.chi_square) < 1.0 / _ONE_IN else 1.0
        bounds = (chdtri(sure.freedom, 0.975) / sure.freedom, chdtri(sure.freedom, 0.025) / sure.freedom)
    covariance = with_open(network, sure) * wide
    faces, said = images(network, found.state, found.others, sure)
    places = hole_slopes(network, found.state)
    return Located(
        holes=_holes(site, network, found.state),
        covariance=places @ covariance @ places.T,
        faces=_frames(network, found.state),
        residuals=_residuals(problem.in_words, readings, sure, doubt),
        variance_factor=factor,
        freedom=sure.freedom,
        suspect=doubt.reading,
        mirror=faces,
        loose=looseness(network, found.state, sure),
        advice=(
            *_again(problem.in_words, doubt),
            *rough_places(network, found.state, problem.hints),
            *_worn(site),
            *advice(network, readings, found.state, covariance / wide, sure.open.shape[1]),
        ),
        mirror_words=said,
        suspect_error=doubt.error if doubt.reading is not None else None,
        suspect_alike=doubt.alike,
        suspect_limit=doubt.limit,
        chi_square_bounds=bounds,
        widened=wide,
    )


def _holes(site: Site, network: Network, state: State) -> tuple[LocatedHole, ...]:
    points = state.points(network)[0]
    found = []
    for n, name in enumerate(network.holes):
        face = site.document.faces[network.faces[network.face_of[n]]]
        hole = list(face.holes.values())[n - int(network.first_of[network.face_of[n]])]
        centre, normal = vector(points[n] + 0.0), vector(state.normals[0, network.face_of[n]] + 0.0)
        face_name = network.faces[network.face_of[n]]
        found.append(LocatedHole(name, face_name, face.body, centre, normal, round_diameter_mm(hole), hole.thread))
    return tuple(found)


def _frames(network: Network, state: State) -> dict[str, Frame]:
    frames = {}
    for f, face in enumerate(network.faces):
        axes = state.axes[0, f]
        if f and len(network.holes_on(f)) == 1:
            normal = axes[None, :, 2]
            axes = frame_toward(normal, seen_x(normal))[0]
        frames[face] = Frame(vector(state.origin[0, f] + 0.0), *(vector(axes[:, k] + 0.0) for k in range(3)))
    return frames


def _residuals(
    in_words: tuple[ReadingInWords, ...], readings: Observations, sure: Certainty, doubt: Suspicion
) -> tuple[Residual, ...]:
    """One entry a reading; of a reading with two rows the one that is farther out."""
    made = []
    for number, reading in enumerate(in_words):
        rows = np.flatnonzero(readings.reading == number)
        score = np.nan_to_num(np.abs(doubt.w[rows]), nan=-1.0)
        row = rows[int(np.argmax(score))]
        w = float(doubt.w[row])
        made.append(
            Residual(
                reading=number,
                text=reading.text,
                measured=reading.measured,
                residual=float(sure.residual[row] * readings.sigma[row]) + 0.0,
                sigma=reading.sigma,
                unit=reading.unit,
                redundancy=float(doubt.redundancy[rows].mean()),
                w=None if np.isnan(w) else w,
                kind=reading.kind,
                ends=reading.ends,
            )
        )
    return tuple(made)


def _again(in_words: tuple[ReadingInWords, ...], doubt: Suspicion) -> list[str]:
    """The suspected reading, and those on which the same mistake would look the same."""
    if doubt.reading is None:
        return []
    texts = [in_words[n].text for n in (doubt.reading, *doubt.alike)]
    if len(texts) > 1:
        return [f"measure again, one of these is out and nothing tells which: {'; '.join(texts)}"]
    way = "large" if doubt.error > 0.0 else "small"
    by = f"{abs(doubt.error):.1f} {in_words[doubt.reading].unit}"
    return [f"measure again: {texts[0]}, looks {by} too {way}"]


def _worn(site: Site) -> list[str]:
    """Worn holes whose true centre nobody can know from their size alone."""
    said = []
    for name, face in site.document.faces.items():
        for key, hole in face.holes.items():
            if hole.long is not None and hole.short is not None and hole.unworn is None:
                worn = hole.long - hole.short
                if worn > _WORN_MM:
                    said.append(
                        f"{name}.{key} is worn oval by {worn:.1f} mm and its middle is taken: say which end kept its "
                        f"round (unworn), or measure the part that sat there"
                    )
    return said
