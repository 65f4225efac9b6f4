"""Plain arithmetic with places and directions in space."""

from __future__ import annotations

import math

from bracketgen.geometry.frame import Vector


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
