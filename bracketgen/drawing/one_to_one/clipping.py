"""What of a chain of lines lies inside an upright box."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point


def clipped(points: Sequence[Point], box: Box) -> list[tuple[Point, ...]]:
    """The pieces of a chain inside `box`, each in the chain's order; the whole chain when nothing is cut off."""
    pieces: list[list[Point]] = []
    for a, b in pairwise(points):
        inside = _segment(a, b, box)
        if inside is None:
            continue
        start, end = inside
        if pieces and pieces[-1][-1] == start == a:
            pieces[-1].append(end)
        else:
            pieces.append([start, end])
    return [tuple(p) for p in pieces]


def _segment(a: Point, b: Point, box: Box) -> tuple[Point, Point] | None:
    """The part of a straight segment inside the box (Liang and Barsky, 1984)."""
    d = b.minus(a)
    first, last = 0.0, 1.0
    for slope, room in ((-d.x, a.x - box[0]), (d.x, box[2] - a.x), (-d.y, a.y - box[1]), (d.y, box[3] - a.y)):
        if slope == 0.0:
            if room < 0.0:
                return None
        elif slope < 0.0:
            first = max(first, room / slope)
        else:
            last = min(last, room / slope)
    if first >= last:
        return None
    return (a if first == 0.0 else a.plus(d, first), b if last == 1.0 else a.plus(d, last))


def within(p: Point, box: Box) -> bool:
    """Whether a point lies in the box."""
    return box[0] <= p.x <= box[2] and box[1] <= p.y <= box[3]


def meet(a: Box, b: Box, spare_mm: float = 0.0) -> bool:
    """Whether two boxes come as near as `spare_mm`."""
    return a[0] <= b[2] + spare_mm and b[0] <= a[2] + spare_mm and a[1] <= b[3] + spare_mm and b[1] <= a[3] + spare_mm
