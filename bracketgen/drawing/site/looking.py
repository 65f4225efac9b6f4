"""From where the part in its place is seen: from above, and from where most of it and of its gaps is in sight."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from bracketgen.drawing.site.gaps import GapMark, Severity
from bracketgen.drawing.site.things import Body, Relation
from bracketgen.drawing.solid.facets import Facet
from bracketgen.drawing.solid.solid_mesh import frame_along
from bracketgen.drawing.solid.viewpoint import Viewpoint
from bracketgen.drawing.solid.visible import Projection
from bracketgen.geometry.space import Vector, cross, dot, plus, unit
from bracketgen.vehicle.seating.mates import CARRIED
from bracketgen.vehicle.seating.placed import Bolted

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


def from_above(up: Vector) -> Viewpoint:
    """Looking down, with the site's x to the right where it lies level, else its y."""
    toward = unit(up)
    level = (1.0, 0.0, 0.0) if abs(toward[0]) < 0.9 else (0.0, 1.0, 0.0)
    right = unit(plus(level, toward, -dot(level, toward)))
    return Viewpoint(right, cross(toward, right), toward)


def best_look(
    part: Sequence[Facet], bodies: Sequence[Body], gaps: Sequence[GapMark], bolts: Sequence[Bolted], up: Vector
) -> Viewpoint:
    """Of two dozen places above and around, the one that shows most of the part and of the gaps.

    Places behind the faces that the part is bolted to are taken only when nothing else shows anything: there the
    vehicle is in the way.
    """
    turned = frame_along((0.0, 0.0, 0.0), up).direction
    eyes = (Viewpoint.at(a, e) for e in _RISES_DEG for a in _ROUNDS_DEG)
    views = [Viewpoint(turned(v.right), turned(v.up), turned(v.toward)) for v in eyes]
    shown = [_in_sight(part, bodies, v) for v in views]
    most = max(shown) or 1.0
    marks = [
        (s / most + _GAP_WORTH * _gaps_in_sight(gaps, v)) * (_BEHIND if _is_behind(bolts, v) else 1.0)
        for s, v in zip(shown, views, strict=True)
    ]
    return views[marks.index(max(marks))]


def hiding(part: Sequence[Facet], bodies: Sequence[Body], view: Viewpoint) -> set[str]:
    """The neighbours that stand before too much of the part, or of what it carries."""
    carried = [(b.facets, _TOO_MUCH_CARRIED) for b in bodies if b.thing.relation is Relation.CARRIED]
    wanted = [(Projection(f, view).places(), most) for f, most in ((part, _TOO_MUCH), *carried)]
    found: set[str] = set()
    for body in (b for b in bodies if b.thing.relation is Relation.NEIGHBOUR):
        before = Projection(body.facets, view)
        if any(areas[before.hide(places)].sum() > most * areas.sum() for (places, _, areas), most in wanted):
            found.add(body.thing.name)
    return found


def _in_sight(part: Sequence[Facet], bodies: Sequence[Body], view: Viewpoint) -> float:
    """The area of the part that is seen, mm2 as it falls on the paper."""
    # What hides too much is only hinted at, so that it hides nothing.
    away = hiding(part, bodies, view)
    others = [f for b in bodies if b.thing.name not in away for f in b.facets]
    places, _, areas = Projection(part, view).places()
    hidden = Projection([*part, *others], view).hide(places)
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
            counts = _FAIL_COUNTS if g.severity is Severity.FAIL else 1.0
            total += counts * view.flat(g.gap.here).distance(view.flat(g.gap.there)) / length
            weight += counts
    return total / weight if weight else 0.0
