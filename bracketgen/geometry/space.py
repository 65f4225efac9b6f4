"""Places and directions in space, mm: right-handed frames, their rigid moves, and the arithmetic of vectors."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from bracketgen.geometry.plane import Placement, cos_sin_deg

Vector = tuple[float, float, float]
#: What stands off a unit direction by less says nothing of a way across it.
_ONE_LINE: Final = 1e-9


@dataclass(frozen=True, slots=True)
class Frame:
    """Origin and unit axes, all given in the outer frame, mm."""

    origin: Vector = (0.0, 0.0, 0.0)
    x: Vector = (1.0, 0.0, 0.0)
    y: Vector = (0.0, 1.0, 0.0)
    z: Vector = (0.0, 0.0, 1.0)

    @staticmethod
    def in_plane(placement: Placement) -> Frame:
        """A plane move as a frame in space: z stays z."""
        c, s, o = placement.cos, placement.sin, placement.origin
        return Frame((o.x, o.y, 0.0), (c, s, 0.0), (-s, c, 0.0))

    @staticmethod
    def about_x(turn_deg: float, origin: Vector) -> Frame:
        """Turned about the x axis (y towards z), with its origin at `origin`."""
        c, s = cos_sin_deg(turn_deg)
        return Frame(origin, (1.0, 0.0, 0.0), (0.0, c, s), (0.0, -s, c))

    @staticmethod
    def toward(origin: Vector, z: Vector, x: Vector) -> Frame:
        """z along a unit direction, x as near as can be to the given one; any, square to z, where both are one line."""
        across = plus(x, z, -dot(x, z))
        if length(across) < _ONE_LINE:
            across = cross(z, (0.0, 1.0, 0.0) if abs(z[1]) < 0.9 else (1.0, 0.0, 0.0))
        first = unit(across)
        return Frame(origin, first, cross(z, first), z)

    def direction(self, v: Vector) -> Vector:
        """A direction given in this frame, in the outer frame."""
        x, y, z = self.x, self.y, self.z
        return (
            v[0] * x[0] + v[1] * y[0] + v[2] * z[0],
            v[0] * x[1] + v[1] * y[1] + v[2] * z[1],
            v[0] * x[2] + v[1] * y[2] + v[2] * z[2],
        )

    def point(self, v: Vector) -> Vector:
        """A point given in this frame, in the outer frame."""
        d, o = self.direction(v), self.origin
        return (d[0] + o[0], d[1] + o[1], d[2] + o[2])

    def local(self, p: Vector) -> Vector:
        """A point of the outer frame, given in this frame."""
        off = minus(p, self.origin)
        return (dot(off, self.x), dot(off, self.y), dot(off, self.z))

    def within(self, outer: Frame) -> Frame:
        """This frame, given in `outer`, as seen from outside `outer`."""
        return Frame(
            outer.point(self.origin), outer.direction(self.x), outer.direction(self.y), outer.direction(self.z)
        )

    def matrix(self) -> tuple[tuple[float, ...], ...]:
        """4 x 4, row by row: columns are the axes and the origin."""
        columns = (self.x, self.y, self.z, self.origin)
        rows = tuple(tuple(c[i] for c in columns) for i in range(3))
        return (*rows, (0.0, 0.0, 0.0, 1.0))


# -- arithmetic


def vector(v: Iterable[float]) -> Vector:
    """Three numbers, such as a row of an array, as a vector."""
    x, y, z = v
    return (float(x), float(y), float(z))


def plus(a: Vector, b: Vector, times: float = 1.0) -> Vector:
    """`a` moved by `times` x `b`."""
    return (a[0] + times * b[0], a[1] + times * b[1], a[2] + times * b[2])


def minus(a: Vector, b: Vector) -> Vector:
    """The direction from `b` to `a`."""
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def scaled(a: Vector, by: float) -> Vector:
    """`a`, `by` times as long."""
    return (a[0] * by, a[1] * by, a[2] * by)


def dot(a: Vector, b: Vector) -> float:
    """Scalar product."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cross(a: Vector, b: Vector) -> Vector:
    """Vector product."""
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def length(a: Vector) -> float:
    """Length."""
    return math.hypot(*a)


def unit(a: Vector) -> Vector:
    """The same direction with length 1; the zero direction has none (ZeroDivisionError)."""
    size = length(a)
    return (a[0] / size, a[1] / size, a[2] / size)


def degrees_between(a: Vector, b: Vector) -> float:
    """Angle between two directions, 0 to 180 degrees; exact for small angles too."""
    return math.degrees(math.atan2(length(cross(a, b)), dot(a, b)))
