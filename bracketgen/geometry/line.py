"""A straight edge between two points."""

from __future__ import annotations

from dataclasses import dataclass

from bracketgen.geometry.placement import Placement
from bracketgen.geometry.point import Point, midpoint

Box = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Line:
    """Straight from `start` to `end`, mm."""

    start: Point
    end: Point

    @property
    def length(self) -> float:
        """Length, mm."""
        return self.start.distance(self.end)

    @property
    def middle(self) -> Point:
        """Half way along."""
        return midpoint(self.start, self.end)

    @property
    def bulge(self) -> float:
        """Tangent of a quarter of the included angle: 0 for a straight edge."""
        return 0.0

    def direction_at(self, _p: Point) -> Point:
        """Unit direction of travel."""
        return self.end.minus(self.start).unit()

    def area_term(self) -> float:
        """This edge's share of the enclosed area (Green's theorem), mm2."""
        return (self.start.x * self.end.y - self.end.x * self.start.y) / 2

    def bounds(self) -> Box:
        """x0, y0, x1, y1."""
        (ax, ay), (bx, by) = self.start, self.end
        return (min(ax, bx), min(ay, by), max(ax, bx), max(ay, by))

    def reversed(self) -> Line:
        """The same edge travelled backwards."""
        return Line(self.end, self.start)

    def moved(self, by: Placement) -> Line:
        """The edge after a rigid move."""
        return Line(by.point(self.start), by.point(self.end))

    def between(self, start: Point, end: Point) -> Line:
        """The part of this edge between two points on it."""
        return Line(start, end)

    def along(self, p: Point) -> float:
        """How far along the edge the point's foot lies, mm from the start."""
        return p.minus(self.start).dot(self.end.minus(self.start).unit())

    def nearest(self, p: Point) -> Point:
        """The edge's point closest to `p`."""
        d = self.end.minus(self.start)
        u = p.minus(self.start).dot(d) / d.dot(d)
        if u <= 0:
            return self.start
        return self.end if u >= 1 else self.start.plus(d, u)
