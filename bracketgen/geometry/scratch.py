"""The one door to shapely: scratch polygons for checks and pictures.

Nothing that comes out of here goes into a cut file. Arcs become chords, so the caller says how far the chords
may lie from the true arc, and on which side of the metal they must stay.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from enum import Enum
from typing import TYPE_CHECKING

from bracketgen.errors import GeometryFault
from bracketgen.geometry.contour import Contour, Cut
from bracketgen.geometry.edge import Arc
from bracketgen.geometry.plane import Point

if TYPE_CHECKING:
    from shapely import Polygon


class ChordSide(Enum):
    """`INSIDE`: the polygon lies within the true metal. `OUTSIDE`: it holds all of the true metal."""

    INSIDE = 1
    OUTSIDE = -1


#: A chord spans at most this much, however large the error that the caller allows.
_WIDEST_STEP_RAD = math.pi / 4


def _steps(arc: Arc, chord_error_mm: float) -> int:
    """Least number of equal steps whose chords and tangents both stay within the error."""
    half_step = math.acos(arc.radius / (arc.radius + chord_error_mm))
    return math.ceil(abs(arc.sweep_rad) / min(2 * half_step, _WIDEST_STEP_RAD))


def _on_arc(arc: Arc, n: int) -> list[Point]:
    return [arc.start, *(arc.at(k / n) for k in range(1, n))]


def _around_arc(arc: Arc, n: int) -> list[Point]:
    """Where the tangents at the ends of the steps cross: the chain touches the arc from its outer side."""
    reach = 1 / math.cos(arc.sweep_rad / n / 2)
    crossings = (arc.at((k + 0.5) / n).minus(arc.centre) for k in range(n))
    return [arc.start, *(arc.centre.plus(c, reach) for c in crossings)]


def scratch_points(chain: Contour, *, chord_error_mm: float, side: ChordSide) -> list[Point]:
    """Corners of the polygon that stands for a chain with the metal on its left, without the first one again."""
    if not chord_error_mm > 0:
        raise ValueError(f"chord error {chord_error_mm} mm: must be above 0")
    points: list[Point] = []
    for e in chain.edges:
        if isinstance(e, Arc):
            n = _steps(e, chord_error_mm)
            # Chords of an arc that bulges out of the metal cut metal off; chords of a hollow one add some.
            chords = (e.sweep_rad > 0) is (side is ChordSide.INSIDE)
            points += _on_arc(e, n) if chords else _around_arc(e, n)
        else:
            points.append(e.start)
    return points


def polygon(outline: Contour, holes: Sequence[Cut] = (), *, chord_error_mm: float, side: ChordSide) -> Polygon:
    """A shapely polygon no farther than `chord_error_mm` (> 0) from the true edges, on the side asked for.

    Raises GeometryFault when the polygon crosses itself: the metal is narrower than the chord error there.
    """
    import shapely

    rings = [outline.anticlockwise()]
    for hole in holes:
        rings.append(hole.contour().anticlockwise().reversed())
    shell, *inner = (scratch_points(r, chord_error_mm=chord_error_mm, side=side) for r in rings)
    made = shapely.Polygon(shell, inner)
    if not shapely.is_valid(made):
        raise GeometryFault(f"no scratch polygon within {chord_error_mm:g} mm: {shapely.is_valid_reason(made)}")
    return made
