"""A point or a direction in a plane, in mm."""

from __future__ import annotations

import math
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
