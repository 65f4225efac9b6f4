"""The circle that lies nearest to a row of points."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import atan2, ceil, fsum, hypot, isfinite, pi, sqrt, tan

from bracketgen.writers.readback.edges import Edge, Point, bulged

#: Longest arc that is made as one edge: well under the half circle of bulge 1.
_LONGEST_RAD = 0.9 * pi


def circle_through(points: Sequence[Point]) -> tuple[Point, float] | None:
    """Centre and radius of the least squares circle through three points and more; None when they lie in a row.

    Linear least squares on x2 + y2 + D x + E y + F = 0, after Kasa, IEEE Trans. Instrum. Meas. IM-25 (1976), 8.
    """
    n = len(points)
    mx, my = fsum(p[0] for p in points) / n, fsum(p[1] for p in points) / n
    moved = [(p[0] - mx, p[1] - my) for p in points]
    uu, vv = fsum(u * u for u, _ in moved), fsum(v * v for _, v in moved)
    uv = fsum(u * v for u, v in moved)
    zu, zv = fsum((u * u + v * v) * u for u, v in moved) / 2.0, fsum((u * u + v * v) * v for u, v in moved) / 2.0
    determinant = uu * vv - uv * uv
    if determinant <= 1e-14 * (uu + vv) ** 2:
        return None
    u, v = (zu * vv - zv * uv) / determinant, (zv * uu - zu * uv) / determinant
    radius = sqrt(u * u + v * v + (uu + vv) / n)
    return ((mx + u, my + v), radius) if isfinite(radius) else None


def turned_rad(points: Sequence[Point], centre: Point) -> float:
    """The angle run about the centre from the first point to the last, counter-clockwise positive."""
    angles = [atan2(y - centre[1], x - centre[0]) for x, y in points]
    return fsum((b - a + pi) % (2.0 * pi) - pi for a, b in pairwise(angles))


def arcs_round(centre: Point, radius_mm: float, start: Point, end: Point, sweep_rad: float) -> tuple[Edge, ...]:
    """The arc from start to end about a centre, as edges well under a half circle each.

    Start and end are kept; points between lie on the circle.
    """
    pieces = max(1, ceil(abs(sweep_rad) / _LONGEST_RAD))
    first = atan2(start[1] - centre[1], start[0] - centre[0])
    whole = Edge(start, end, centre, radius_mm, first, sweep_rad)
    inner = [whole.point_at(first + sweep_rad * k / pieces) for k in range(1, pieces)]
    corners = [start, *inner, end]
    bulge = tan(sweep_rad / pieces / 4.0)
    return tuple(bulged(a, b, bulge) for a, b in pairwise(corners))


def stray_mm(points: Sequence[Point], centre: Point, radius_mm: float) -> float:
    """How far the points lie off the circle at most."""
    return max(abs(hypot(x - centre[0], y - centre[1]) - radius_mm) for x, y in points)
