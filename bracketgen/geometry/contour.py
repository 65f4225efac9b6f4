"""Closed chains of true lines and arcs, and full rounds: their measures, the ones that people name, what they hold."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from bracketgen.geometry.arrays import Bools, Floats
from bracketgen.geometry.edge import Arc, Box, Line
from bracketgen.geometry.plane import Placement, Point

Edge = Line | Arc


@dataclass(frozen=True, slots=True)
class Circle:
    """A full round, mm: what a drilled or cut round hole is from description to file."""

    centre: Point
    radius: float

    @property
    def area(self) -> float:
        """Enclosed area, mm2."""
        return math.pi * self.radius**2

    @property
    def length(self) -> float:
        """Circumference, mm."""
        return 2 * math.pi * self.radius

    def bounds(self) -> Box:
        """x0, y0, x1, y1."""
        (x, y), r = self.centre, self.radius
        return (x - r, y - r, x + r, y + r)

    def moved(self, by: Placement) -> Circle:
        """The circle after a rigid move."""
        return Circle(by.point(self.centre), self.radius)

    def nearest(self, p: Point) -> Point:
        """The point of the round closest to `p`; any of them to its centre."""
        out = p.minus(self.centre)
        return self.centre.plus(out.unit() if out.length() > 0 else Point(1.0, 0.0), self.radius)

    @property
    def pieces(self) -> tuple[Circle]:
        """What its edge is made of: the round itself."""
        return (self,)

    @property
    def any_point(self) -> Point:
        """A point of the round or inside it."""
        return self.centre

    def holds(self, p: Point) -> bool:
        """Whether the point lies inside the round."""
        return self.centre.distance(p) < self.radius

    def contour(self) -> Contour:
        """The same round as four quarter arcs, anticlockwise."""
        (x, y), r = self.centre, self.radius
        p = [Point(x + r, y), Point(x, y + r), Point(x - r, y), Point(x, y - r)]
        return Contour(tuple(Arc(p[i], p[(i + 1) % 4], self.centre, r, math.pi / 2) for i in range(4)))


@dataclass(frozen=True, slots=True)
class Contour:
    """A closed chain: each edge ends at the very point where the next begins; anticlockwise around metal."""

    edges: tuple[Edge, ...]

    @property
    def area(self) -> float:
        """Signed enclosed area of the true arcs, mm2: positive when anticlockwise."""
        return math.fsum(e.area_term() for e in self.edges)

    @property
    def length(self) -> float:
        """Perimeter, mm."""
        return math.fsum(e.length for e in self.edges)

    def bounds(self) -> Box:
        """x0, y0, x1, y1 of the true arcs."""
        return union_bounds(e.bounds() for e in self.edges)

    def nearest(self, p: Point) -> Point:
        """The point of the chain closest to `p`."""
        return min((e.nearest(p) for e in self.edges), key=p.distance)

    @property
    def pieces(self) -> tuple[Edge, ...]:
        """What it is made of: its edges."""
        return self.edges

    @property
    def any_point(self) -> Point:
        """A point of the chain or inside it."""
        return self.edges[0].start

    def holds(self, p: Point) -> bool:
        """Whether the point lies inside the chain; a point on the chain itself has no answer."""
        return holds(self, p)

    def contour(self) -> Contour:
        """The chain itself, as a round's is asked for."""
        return self

    def reversed(self) -> Contour:
        """The same chain travelled the other way."""
        return Contour(tuple(e.reversed() for e in reversed(self.edges)))

    def anticlockwise(self) -> Contour:
        """The same chain with positive area."""
        return self if self.area > 0 else self.reversed()

    def moved(self, by: Placement) -> Contour:
        """The chain after a rigid move; shared ends stay shared."""
        ends = [by.point(e.start) for e in self.edges]
        moved: list[Edge] = []
        for i, e in enumerate(self.edges):
            a, b = ends[i], ends[(i + 1) % len(ends)]
            moved.append(Line(a, b) if isinstance(e, Line) else Arc(a, b, by.point(e.centre), e.radius, e.sweep_rad))
        return Contour(tuple(moved))

    def vertices(self) -> list[Point]:
        """Start point of every edge, in order."""
        return [e.start for e in self.edges]


Cut = Circle | Contour


def union_bounds(boxes: Iterable[Box]) -> Box:
    """The box around boxes."""
    x0, y0, x1, y1 = zip(*boxes, strict=True)
    return (min(x0), min(y0), max(x1), max(y1))


def closed_chain(corners: Sequence[Point]) -> Contour:
    """Straight edges through the corners and back to the first."""
    n = len(corners)
    return Contour(tuple(Line(corners[i], corners[(i + 1) % n]) for i in range(n)))


def box_contour(x0: float, y0: float, x1: float, y1: float) -> Contour:
    """An upright rectangle, anticlockwise."""
    return closed_chain([Point(x0, y0), Point(x1, y0), Point(x1, y1), Point(x0, y1)])


# -- chains that people name: slot, bar, disc, polygon

_QUARTER = math.pi / 2


def slot_contour(centre: Point, length_mm: float, width_mm: float, direction_deg: float) -> Contour:
    """A straight slot with round ends, `length_mm` over all, anticlockwise."""
    r, half = width_mm / 2, (length_mm - width_mm) / 2
    right, left = Point(half, 0.0), Point(-half, 0.0)
    a, b = Point(-half, -r), Point(half, -r)
    c, d = Point(half, r), Point(-half, r)
    tip, tail = Point(half + r, 0.0), Point(-half - r, 0.0)
    ends = (Arc(b, tip, right, r, _QUARTER), Arc(tip, c, right, r, _QUARTER))
    back = (Arc(d, tail, left, r, _QUARTER), Arc(tail, a, left, r, _QUARTER))
    return Contour((Line(a, b), *ends, Line(c, d), *back)).moved(Placement.turned(direction_deg, centre))


def bar_contour(start: Point, end: Point, width_mm: float) -> Contour:
    """A straight bar from point to point, square ends, anticlockwise."""
    return box_contour(0.0, -width_mm / 2, start.distance(end), width_mm / 2).moved(Placement.along(start, end))


def disc_contour(centre: Point, radius_mm: float) -> Contour:
    """A full round as a chain, anticlockwise."""
    return Circle(centre, radius_mm).contour()


def polygon_contour(corners: Sequence[Point]) -> Contour:
    """Straight edges through the corners, turned anticlockwise whichever way they were given."""
    return closed_chain(corners).anticlockwise()


# -- which closed chains hold a point: exact for true arcs, many points at a time
#
# A chain of lines and arcs is the polygon of its chords, with a circular segment added or taken away at
# every arc, so the parity of 'inside the chord polygon' and 'inside the segments' answers the question.
# A point that lies exactly on a chord is treated as moved by an infinitely small step (up, then left) in both
# tests alike; points on the chain itself have no answer and must not be asked for.


_CHUNK = 2_000_000


class ChainSet:
    """Several closed chains, prepared for repeated questions."""

    def __init__(self, chains: Sequence[Contour]) -> None:
        rows: list[tuple[float, ...]] = []
        starts: list[int] = []
        for chain in chains:
            starts.append(len(rows))
            for e in chain.edges:
                centre, r = (e.centre, e.radius) if isinstance(e, Arc) else (Point(0.0, 0.0), -1.0)
                turning = e.sweep_rad if isinstance(e, Arc) else 0.0
                rows.append((e.start.x, e.start.y, e.end.x, e.end.y, centre.x, centre.y, r, turning))
        self._starts = np.array(starts, dtype=np.intp)
        self._rows: Floats = np.array(rows, dtype=np.float64).reshape(-1, 8).T

    def hold(self, points: Sequence[Point]) -> Bools:
        """A row for each point, a column for each chain: whether the chain holds the point."""
        xy = np.array(points, dtype=np.float64).reshape(-1, 2)
        step = max(1, _CHUNK // max(1, self._rows.shape[1]))
        parts = [self._some(xy[i : i + step]) for i in range(0, len(xy), step)]
        return np.concatenate(parts) if parts else np.zeros((0, len(self._starts)), dtype=np.bool_)

    def _some(self, xy: Floats) -> Bools:
        ax, ay, bx, by, cx, cy, radius, sweep = self._rows
        px, py = xy[:, :1], xy[:, 1:]
        dx, dy = bx - ax, by - ay
        cross = dx * (py - ay) - dy * (px - ax)
        left = (cross > 0) | ((cross == 0) & ((dx > 0) | ((dx == 0) & (dy > 0))))
        up, down = (ay <= py) & (py < by), (by <= py) & (py < ay)
        crossing = (up & left) | (down & ~left)
        in_circle = (radius > 0) & ((px - cx) ** 2 + (py - cy) ** 2 < radius**2)
        in_segment = in_circle & np.where(sweep > 0, ~left, left)
        parity: Bools = np.logical_xor.reduceat(crossing ^ in_segment, self._starts, axis=1)
        return parity


def holds(chain: Contour, point: Point) -> bool:
    """Whether the chain holds the point (points on the chain itself have no answer).

    The same test as ChainSet, for one point: a short chain is quicker walked than made into arrays.
    """
    px, py = point
    inside = False
    for e in chain.edges:
        (ax, ay), (bx, by) = e.start, e.end
        dx, dy = bx - ax, by - ay
        cross = dx * (py - ay) - dy * (px - ax)
        left = cross > 0 or (cross == 0 and (dx > 0 or (dx == 0 and dy > 0)))
        if (ay <= py < by and left) or (by <= py < ay and not left):
            inside = not inside
        if isinstance(e, Arc) and left != (e.sweep_rad > 0):
            (cx, cy), r = e.centre, e.radius
            if (px - cx) ** 2 + (py - cy) ** 2 < r * r:
                inside = not inside
    return inside
