"""Closed chains that people name: slot, bar, disc, polygon."""

from __future__ import annotations

import math
from collections.abc import Sequence

from bracketgen.geometry.arc import Arc
from bracketgen.geometry.contour import Circle, Contour, box_contour, closed_chain
from bracketgen.geometry.line import Line
from bracketgen.geometry.placement import Placement
from bracketgen.geometry.point import Point

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
