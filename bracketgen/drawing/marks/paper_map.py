"""True lines and arcs as chains of points for a picture, and the move from the flat to the paper."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from bracketgen.geometry.contour import Cut, Edge
from bracketgen.geometry.edge import Arc, Box, Line
from bracketgen.geometry.plane import Placement, Point


def edge_points(edge: Edge, chord_mm: float) -> list[Point]:
    """Points along an edge without its end; no chord strays farther than `chord_mm` from the arc."""
    if isinstance(edge, Line):
        return [edge.start]
    half = math.acos(max(0.5, 1.0 - chord_mm / edge.radius)) if edge.radius > chord_mm else 1.0
    pieces = max(1, math.ceil(abs(edge.sweep_rad) / (2.0 * half)))
    return [edge.at(i / pieces) for i in range(pieces)]


def ring_points(cut: Cut, chord_mm: float) -> tuple[Point, ...]:
    """The corners of a closed chain or circle, anticlockwise, without the first again."""
    return tuple(p for e in cut.contour().anticlockwise().edges for p in edge_points(e, chord_mm))


def within(p: Point, box: Box) -> bool:
    """Whether a point lies in the box."""
    return box[0] <= p.x <= box[2] and box[1] <= p.y <= box[3]


def closed(ring: Sequence[Point]) -> tuple[Point, ...]:
    """The ring with its first point again at the end."""
    return (*ring, ring[0])


def disc_points(centre: Point, radius: float) -> tuple[Point, ...]:
    """A small round on the paper, as a ring of 32 points."""
    start = centre.plus(Point(radius, 0.0))
    round_ = Arc(start, start, centre, radius, 2.0 * math.pi)
    return tuple(round_.at(i / 32) for i in range(32))


def arrow_head(tip: Point, direction: Point, length_mm: float) -> tuple[Point, ...]:
    """A slim triangle with its tip at `tip`."""
    back = tip.plus(direction, -length_mm)
    side = direction.left().scaled(length_mm * 0.28)
    return (tip, back.plus(side), back.minus(side))


@dataclass(frozen=True, slots=True)
class PaperMap:
    """From the model's plane (mm) to the paper (mm): turned, made larger or smaller, shifted; never mirrored."""

    scale: float
    placement: Placement

    def point(self, p: Point) -> Point:
        """Where a point comes to lie on the paper."""
        return self.placement.point(p.scaled(self.scale))

    def line(self, points: Sequence[Point]) -> tuple[Point, ...]:
        """A chain of points on the paper."""
        return tuple(map(self.point, points))

    def direction(self, d: Point) -> Point:
        """The same direction on the paper, with unchanged length."""
        return self.placement.direction(d)

    def ring(self, cut: Cut, chord_mm: float = 0.02) -> tuple[Point, ...]:
        """A closed chain on the paper; `chord_mm` is counted on the paper."""
        return tuple(self.point(p) for p in ring_points(cut, chord_mm / self.scale))

    def edge(self, edge: Edge, chord_mm: float = 0.02) -> tuple[Point, ...]:
        """An edge on the paper from end to end; `chord_mm` is counted on the paper."""
        return tuple(map(self.point, (*edge_points(edge, chord_mm / self.scale), edge.end)))

    def box(self, box: Box) -> Box:
        """The upright box on the paper around a box of the model (quarter turns only)."""
        a, b = self.point(Point(box[0], box[1])), self.point(Point(box[2], box[3]))
        return (min(a.x, b.x), min(a.y, b.y), max(a.x, b.x), max(a.y, b.y))


def fitted_map(bounds: Box, area: Box, most_scale: float, turn_deg: float) -> PaperMap:
    """The largest map (up to `most_scale`) that puts `bounds`, turned by 0 or 90 deg, into the middle of `area`."""
    x0, y0, x1, y1 = bounds
    size = (x1 - x0, y1 - y0) if turn_deg == 0.0 else (y1 - y0, x1 - x0)
    room = (area[2] - area[0], area[3] - area[1])
    scale = min(most_scale, *(r / s for r, s in zip(room, size, strict=True) if s > 0.0))
    turned = Placement.turned(turn_deg)
    middle = turned.point(Point((x0 + x1) / 2 * scale, (y0 + y1) / 2 * scale))
    centre = Point((area[0] + area[2]) / 2, (area[1] + area[3]) / 2)
    return PaperMap(scale, Placement(centre.minus(middle), turned.cos, turned.sin))
