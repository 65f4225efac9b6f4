"""How far a folded part reaches along a direction, exactly: true arcs, true cylinders."""

from __future__ import annotations

import math
from collections.abc import Iterator

from bracketgen.bending.fold import Folded, strip_frame, turned_frame
from bracketgen.drawing.solid.viewpoint import Viewpoint, dot
from bracketgen.geometry.frame import Frame, Vector
from bracketgen.geometry.line import Box
from bracketgen.geometry.placement import Placement
from bracketgen.geometry.point import Point
from bracketgen.part.bend import Bend, Way
from bracketgen.part.panel import Panel


def seen_bounds(folded: Folded, view: Viewpoint) -> Box:
    """The box around the part in the plane of a view, mm."""
    (x0, x1), (y0, y1) = reach(folded, view.right), reach(folded, view.up)
    return (x0, y0, x1, y1)


def reach(folded: Folded, way: Vector) -> tuple[float, float]:
    """The least and the greatest reach of the metal along a unit direction, mm."""
    t = folded.part.stock.thickness_mm
    values = [v for p in folded.part.panels for v in _panel_values(p, folded.frames[p.id], t, way)]
    values += [v for b in folded.part.bends for v in _bend_values(b, folded, way)]
    return min(values), max(values)


def _panel_values(panel: Panel, frame: Frame, thickness_mm: float, way: Vector) -> Iterator[float]:
    """Extremes of a plate: those of its outline, on both its faces."""
    across = Point(dot(frame.x, way), dot(frame.y, way))
    size = across.length()
    low = high = 0.0
    if size > 1e-12:
        # Seen along the direction, the outline reaches as far as its box in a frame turned to it.
        turned = Placement.along(Point(0.0, 0.0), across).inverse()
        low, _, high, _ = panel.outline.moved(turned).bounds()
    base = dot(frame.origin, way)
    for depth in (0.0, thickness_mm):
        lift = base - depth * dot(frame.z, way)
        yield lift + size * low
        yield lift + size * high


def _bend_values(bend: Bend, folded: Folded, way: Vector) -> Iterator[float]:
    """Extremes of a bend: at its tangent lines, and where its surface lies square to the direction."""
    t = folded.part.stock.thickness_mm
    start = strip_frame(bend, folded.frames[bend.parent])
    sign = 1.0 if bend.way is Way.UP else -1.0
    # The way across the bend after `turn`: y cos(turn) +- z sin(turn); the surface is square where it has no share.
    flat_turn = math.degrees(math.atan2(-dot(start.y, way), sign * dot(start.z, way)))
    turns = [0.0, bend.turn_deg, *(a for k in (-1, 0, 1, 2) if 0.0 < (a := flat_turn + 180.0 * k) < bend.turn_deg)]
    for turn in turns:
        frame = turned_frame(bend, t, turn).within(start)
        for x in (0.0, bend.width_mm):
            for depth in (0.0, t):
                yield dot(frame.point((x, 0.0, -depth)), way)
