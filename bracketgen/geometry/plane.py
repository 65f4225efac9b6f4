"""Points and directions in a plane, in mm, and rigid moves in it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple


class Point(NamedTuple):
    """A place (or a free direction) in a panel's plane: x right, y up, mm."""

    x: float
    y: float

    def plus(self, other: Point, times: float = 1.0) -> Point:
        """This point moved by `times` x `other`."""
        return Point(self.x + times * other.x, self.y + times * other.y)

    def minus(self, other: Point) -> Point:
        """The direction from `other` to this point."""
        return Point(self.x - other.x, self.y - other.y)

    def dot(self, other: Point) -> float:
        """Scalar product."""
        return self.x * other.x + self.y * other.y

    def cross(self, other: Point) -> float:
        """z of the vector product: positive when `other` lies to the left of this direction."""
        return self.x * other.y - self.y * other.x

    def length(self) -> float:
        """Length of the direction."""
        return math.hypot(self.x, self.y)

    def distance(self, other: Point) -> float:
        """Distance to another point, mm."""
        return math.hypot(self.x - other.x, self.y - other.y)

    def unit(self) -> Point:
        """The same direction with length 1; the zero direction has none (ZeroDivisionError)."""
        size = self.length()
        return Point(self.x / size, self.y / size)

    def left(self) -> Point:
        """The direction a quarter turn to the left."""
        return Point(-self.y, self.x)

    def scaled(self, by: float) -> Point:
        """The direction `by` times as long."""
        return Point(self.x * by, self.y * by)


def midpoint(a: Point, b: Point) -> Point:
    """Half way between two points."""
    return Point((a.x + b.x) / 2, (a.y + b.y) / 2)


def polar(radius: float, angle_rad: float) -> Point:
    """The point at `radius` and `angle_rad` (anticlockwise from +x)."""
    return Point(radius * math.cos(angle_rad), radius * math.sin(angle_rad))


# -- a rigid move: turn, then shift

_ORIGIN = Point(0.0, 0.0)
# Quarter turns are by far the commonest; exact cosines keep their coordinates exact.
_EXACT = {0.0: (1.0, 0.0), 90.0: (0.0, 1.0), 180.0: (-1.0, 0.0), 270.0: (0.0, -1.0)}


def cos_sin_deg(angle_deg: float) -> tuple[float, float]:
    """Cosine and sine, exact at whole quarter turns."""
    angle = angle_deg % 360.0
    if angle in _EXACT:
        return _EXACT[angle]
    rad = math.radians(angle)
    return math.cos(rad), math.sin(rad)


@dataclass(frozen=True, slots=True)
class Placement:
    """Turn by (cos, sin) about the origin, then shift to `origin`; no mirror, no scale."""

    origin: Point = _ORIGIN
    cos: float = 1.0
    sin: float = 0.0

    @staticmethod
    def turned(angle_deg: float, origin: Point = _ORIGIN) -> Placement:
        """Turned anticlockwise by `angle_deg`, then shifted to `origin`."""
        c, s = cos_sin_deg(angle_deg)
        return Placement(origin, c, s)

    @staticmethod
    def along(start: Point, end: Point) -> Placement:
        """The frame with its origin at `start` and its x axis towards `end`."""
        d = end.minus(start).unit()
        return Placement(start, d.x, d.y)

    def point(self, p: Point) -> Point:
        """Where the point goes."""
        return Point(
            self.origin.x + self.cos * p.x - self.sin * p.y,
            self.origin.y + self.sin * p.x + self.cos * p.y,
        )

    def direction(self, p: Point) -> Point:
        """Where the direction goes (no shift)."""
        return Point(self.cos * p.x - self.sin * p.y, self.sin * p.x + self.cos * p.y)

    def then(self, outer: Placement) -> Placement:
        """This move first, `outer` after it."""
        d = outer.direction(Point(self.cos, self.sin))
        return Placement(outer.point(self.origin), d.x, d.y)

    def inverse(self) -> Placement:
        """The move back."""
        o = self.origin
        return Placement(
            Point(-(self.cos * o.x + self.sin * o.y), self.sin * o.x - self.cos * o.y), self.cos, -self.sin
        )

    @property
    def angle_deg(self) -> float:
        """Anticlockwise turn, degrees, -180 to 180."""
        return math.degrees(math.atan2(self.sin, self.cos))
