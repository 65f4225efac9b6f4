"""Hole positions from readings: least squares with each reading's own error, and all that is doubtful about it."""

from __future__ import annotations

from typing import Final

import numpy as np
from scipy.special import chdtrc, chdtri

from bracketgen.geometry.space import Frame
from bracketgen.vehicle.locate.adjustment import solved
from bracketgen.vehicle.locate.advice import advice
from bracketgen.vehicle.locate.certainty import Certainty, Suspicion, certainty, hole_slopes, suspicion, with_open
from bracketgen.vehicle.locate.doubts import images, looseness, rough_places
from bracketgen.vehicle.locate.guesses import frame_toward, seen_x
from bracketgen.vehicle.locate.located import Located, LocatedHole, Residual, vector
from bracketgen.vehicle.locate.network import Network, State
from bracketgen.vehicle.locate.observations import Observations
from bracketgen.vehicle.locate.readings import ReadingInWords, problem_of, round_diameter_mm
from bracketgen.vehicle.site import Site

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
    network, taken = problem.network, problem.taken
    found = solved(network, taken, problem.hints)
    sure = certainty(network, taken, found.state)
    doubt = suspicion(sure, taken.sigma, taken.reading)
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
        residuals=_residuals(problem.told, taken, sure, doubt),
        variance_factor=factor,
        freedom=sure.freedom,
        suspect=doubt.reading,
        mirror=faces,
        loose=looseness(network, found.state, sure),
        advice=(
            *_again(problem.told, doubt),
            *rough_places(network, found.state, problem.hints),
            *_worn(site),
            *advice(network, taken, found.state, covariance / wide, sure.open.shape[1]),
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
        centre, normal = vector(points[n]), vector(state.normals[0, network.face_of[n]])
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
        frames[face] = Frame(vector(state.origin[0, f]), *(vector(axes[:, k]) for k in range(3)))
    return frames


def _residuals(
    told: tuple[ReadingInWords, ...], taken: Observations, sure: Certainty, doubt: Suspicion
) -> tuple[Residual, ...]:
    """One entry a reading; of a reading with two rows the one that is farther out."""
    made = []
    for number, reading in enumerate(told):
        rows = np.flatnonzero(taken.reading == number)
        score = np.nan_to_num(np.abs(doubt.w[rows]), nan=-1.0)
        row = rows[int(np.argmax(score))]
        w = float(doubt.w[row])
        made.append(
            Residual(
                reading=number,
                text=reading.text,
                measured=reading.measured,
                residual=float(sure.residual[row] * taken.sigma[row]) + 0.0,
                sigma=reading.sigma,
                unit=reading.unit,
                redundancy=float(doubt.redundancy[rows].mean()),
                w=None if np.isnan(w) else w,
                kind=reading.kind,
                ends=reading.ends,
            )
        )
    return tuple(made)


def _again(told: tuple[ReadingInWords, ...], doubt: Suspicion) -> list[str]:
    """The suspected reading, and those on which the same mistake would look the same."""
    if doubt.reading is None:
        return []
    texts = [told[n].text for n in (doubt.reading, *doubt.alike)]
    if len(texts) > 1:
        return [f"measure again, one of these is out and nothing tells which: {'; '.join(texts)}"]
    way = "large" if doubt.error > 0.0 else "small"
    return [f"measure again: {texts[0]}, looks {abs(doubt.error):.1f} {told[doubt.reading].unit} too {way}"]


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
