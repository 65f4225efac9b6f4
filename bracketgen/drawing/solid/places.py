"""Places on the folded part that a label can point at."""

from __future__ import annotations

from bracketgen.bending.fold import Folded, strip_frame, turned_frame
from bracketgen.geometry.frame import Vector
from bracketgen.geometry.inside import ChainSet
from bracketgen.geometry.point import Point
from bracketgen.part.bend import Bend
from bracketgen.part.panel import Panel

_SHARES = (0.5, 0.3, 0.7, 0.12, 0.88)
#: Places this near to the one farthest from all edges are as good.
_NEARLY = 0.5


def bend_places(folded: Folded, bend: Bend) -> list[Vector]:
    """Points along the middle of a bend, on its described face, then on its other face."""
    thickness = folded.part.stock.thickness_mm
    frame = turned_frame(bend, thickness, bend.turn_deg / 2).within(strip_frame(bend, folded.frames[bend.parent]))
    return [frame.point((s * bend.width_mm, 0.0, z)) for z in (0.0, -thickness) for s in _SHARES]


def face_places(folded: Folded) -> list[Vector]:
    """Points of the first panel's described face, well away from its edges and holes."""
    panel = folded.part.panels[0]
    x0, y0, x1, y1 = panel.outline.bounds()
    grid = [Point(x0 + u * (x1 - x0), y0 + v * (y1 - y0)) for u in _SHARES for v in _SHARES]
    rooms = list(zip(_clearances(panel, grid), grid, strict=True))
    most = max(room for room, _ in rooms)
    return [folded.point(panel.id, p) for room, p in rooms if room >= _NEARLY * most]


def _clearances(panel: Panel, points: list[Point]) -> list[float]:
    """Distance of each point to the nearest edge, mm; below 0 where there is no metal."""
    cuts = [panel.outline, *(h.cut for h in panel.holes)]
    inside = ChainSet([c.contour() for c in cuts]).hold(points)
    made: list[float] = []
    for p, row in zip(points, inside, strict=True):
        to_edge = min(c.nearest(p).distance(p) for c in cuts)
        made.append(to_edge * (1.0 if row[0] and not row[1:].any() else -1.0))
    return made
