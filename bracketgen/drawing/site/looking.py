"""From where the part in its place is seen: from above, and from where most of it and of its gaps is in sight."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Final

import numpy as np
import numpy.typing as npt

from bracketgen.bending.fold import Folded
from bracketgen.drawing.model.mesh_of import frame_along
from bracketgen.drawing.site.bodies import Body
from bracketgen.drawing.site.scene import GapMark, Role, Verdict
from bracketgen.drawing.solid.covering import corners_of, covered, middle_of, seen_area
from bracketgen.drawing.solid.facet import Facet, Pen, mesh_facets
from bracketgen.drawing.solid.piece import pieces_of
from bracketgen.drawing.solid.plate_facets import piece_facets
from bracketgen.drawing.solid.viewpoint import Viewpoint
from bracketgen.fit.seating.mates import CARRIED
from bracketgen.fit.seating.placed import Bolted
from bracketgen.geometry.frame import Vector
from bracketgen.geometry.vector import cross, dot, plus, unit

PART: Final = "part"
_RISES_DEG: Final = (30.0, 50.0)
_ROUNDS_DEG: Final = tuple(30.0 * i + 15.0 for i in range(12))
#: A neighbour that hides more than this share of the part, or of what it carries, is only hinted at.
_TOO_MUCH: Final = 0.25
_TOO_MUCH_CARRIED: Final = 0.5
#: What seeing a gap's arrow at its full length is worth, against seeing all of the part.
_GAP_WORTH: Final = 0.5
_FAIL_COUNTS: Final = 4.0
#: What a view counts for each thing that has to be drawn open in it.
_OPEN: Final = 0.6
#: What a view from behind the vehicle's faces counts.
_BEHIND: Final = 0.2
_COARSE_MM: Final = 1.0
_THIN: Final = Pen(0.25)


def from_above(up: Vector) -> Viewpoint:
    """Looking down, with the site's x to the right where it lies level, else its y."""
    toward = unit(up)
    level = (1.0, 0.0, 0.0) if abs(toward[0]) < 0.9 else (0.0, 1.0, 0.0)
    right = unit(plus(level, toward, -dot(level, toward)))
    return Viewpoint(right, cross(toward, right), toward)


def best_look(
    folded: Folded, bodies: Sequence[Body], gaps: Sequence[GapMark], bolts: Sequence[Bolted], up: Vector
) -> Viewpoint:
    """Of two dozen places above and around, the one that shows most of the part and of the gaps.

    Places behind the faces that the part is bolted to are taken only when nothing else shows anything: there the
    vehicle is in the way.
    """
    frame = frame_along((0.0, 0.0, 0.0), up)
    views = [_turned(Viewpoint.at(a, e), frame.direction) for e in _RISES_DEG for a in _ROUNDS_DEG]
    shown = [_in_sight(folded, bodies, v) for v in views]
    most = max(shown) or 1.0
    marks = [
        (s / most + _GAP_WORTH * _gaps_in_sight(gaps, v)) * (_BEHIND if _is_behind(bolts, v) else 1.0)
        for s, v in zip(shown, views, strict=True)
    ]
    return views[marks.index(max(marks))]


def part_facets(folded: Folded, view: Viewpoint, chord_mm: float) -> list[Facet]:
    """The part's surfaces in sight; the folded part must be given in the site's frame."""
    pieces, _ = pieces_of(folded, chord_mm)
    return [f for p in pieces for f in piece_facets(p, view, PART)]


def body_facets(body: Body, view: Viewpoint, pen: Pen = _THIN) -> list[Facet]:
    """A thing's surfaces in sight."""
    return [f for m in body.meshes for f in mesh_facets(m, view, pen)]


def hiding(folded: Folded, bodies: Sequence[Body], view: Viewpoint) -> set[str]:
    """The neighbours that stand before too much of the part, or of what it carries."""
    wanted = [(part_facets(folded, view, _COARSE_MM), _TOO_MUCH)]
    wanted += [(body_facets(b, view), _TOO_MUCH_CARRIED) for b in bodies if b.shown.role is Role.CARRIED]
    found: set[str] = set()
    for body in (b for b in bodies if b.shown.role is Role.NEIGHBOUR):
        triangles = corners_of(body_facets(body, view))
        if any(_hidden_share(facets, triangles, view) > most for facets, most in wanted):
            found.add(body.shown.name)
    return found


def _hidden_share(facets: Sequence[Facet], triangles: npt.NDArray[np.float64], view: Viewpoint) -> float:
    areas = np.array([seen_area(f, view) for f in facets])
    hidden = covered([middle_of(f) for f in facets], triangles, view)
    return float(areas[hidden].sum() / areas.sum()) if len(areas) else 0.0


def _in_sight(folded: Folded, bodies: Sequence[Body], view: Viewpoint) -> float:
    """The area of the part that is seen, mm2 as it falls on the paper."""
    own = part_facets(folded, view, _COARSE_MM)
    # What hides too much is only hinted at, so that it hides nothing.
    away = hiding(folded, bodies, view)
    others = [f for b in bodies if b.shown.name not in away for f in body_facets(b, view)]
    areas = np.array([seen_area(f, view) for f in own])
    hidden = covered([middle_of(f) for f in own], corners_of([*own, *others]), view)
    return float(areas[~hidden].sum()) * _OPEN ** len(away)


def _is_behind(bolts: Sequence[Bolted], view: Viewpoint) -> bool:
    """Whether the eye stands behind the faces of the vehicle that the part lies on, taken together."""
    return sum(dot(b.axis, view.toward) for b in bolts if not b.mate.startswith(CARRIED)) < 0.0


def _gaps_in_sight(gaps: Sequence[GapMark], view: Viewpoint) -> float:
    """How long the gaps' arrows look, as a share of their true length; the mean, failing gaps counting more."""
    total = weight = 0.0
    for g in gaps:
        length = math.dist(g.gap.here, g.gap.there)
        if length > 0.0:
            counts = _FAIL_COUNTS if g.verdict is Verdict.FAIL else 1.0
            total += counts * view.flat(g.gap.here).distance(view.flat(g.gap.there)) / length
            weight += counts
    return total / weight if weight else 0.0


def _turned(view: Viewpoint, direction: Callable[[Vector], Vector]) -> Viewpoint:
    return Viewpoint(direction(view.right), direction(view.up), direction(view.toward))
