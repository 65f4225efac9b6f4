"""A closed chain of true lines and arcs."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from bracketgen.geometry.arc import Arc
from bracketgen.geometry.line import Box, Line
from bracketgen.geometry.placement import Placement
from bracketgen.geometry.point import Point

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
