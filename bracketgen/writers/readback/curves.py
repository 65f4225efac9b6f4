"""Smooth curves as tangent arcs, with the greatest distance between the two, measured both ways."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import atan2, hypot, sqrt, tan, tau

from bracketgen.writers.readback.circle_fit import arcs_round, circle_through, stray_mm, turned_rad
from bracketgen.writers.readback.edges import Edge, Point, bulged, circle

#: How far arcs may stray from the spline or ellipse they stand for: a tenth of the shortest edge that is cut.
#: Own choice; far under what a thermal cut holds.
CURVE_MM = 0.005
#: Directions before and after a knot that differ by more are a corner.
_CORNER_RAD = 1e-3
_DEEPEST = 14
_SAMPLES = 48
#: Step for directions, as a part of the stretch.
_STEP = 1e-6


@dataclass(frozen=True, slots=True)
class Curve:
    """A curve by its parameter; it can have corners only at its `breaks`, the first and last of which are its ends."""

    point: Callable[[float], Point]
    breaks: tuple[float, ...]

    def direction(self, at: float, toward: float) -> Point:
        """Unit direction of travel at a parameter, taken on the side of `toward`; (0, 0) where the curve rests."""
        step = (toward - at) * _STEP
        (x0, y0), (x1, y1) = self.point(at), self.point(at + step)
        length = hypot(x1 - x0, y1 - y0)
        if length == 0.0:
            return 0.0, 0.0
        sign = 1.0 if step > 0.0 else -1.0
        return sign * (x1 - x0) / length, sign * (y1 - y0) / length


def arcs_along(curve: Curve, within_mm: float = CURVE_MM) -> tuple[tuple[Edge, ...], float]:
    """Lines and arcs along a curve, and how far apart the two are at most, mm.

    A curve that is a circle or an arc to within the limit becomes one.
    """
    corners = _corners(curve)
    edges: list[Edge] = []
    worst = 0.0
    for start, end in pairwise(corners):
        made, off = _stretch(curve, start, end, within_mm)
        edges += made
        worst = max(worst, off)
    return tuple(edges), worst


def _corners(curve: Curve) -> list[float]:
    """Ends of the curve, and the breaks at which its direction jumps."""
    breaks = curve.breaks
    kept = [breaks[0]]
    for before, here, after in zip(breaks[:-2], breaks[1:-1], breaks[2:], strict=True):
        if abs(_angle(curve.direction(here, before), curve.direction(here, after))) > _CORNER_RAD:
            kept.append(here)
    return [*kept, breaks[-1]]


def _angle(one: Point, two: Point) -> float:
    return atan2(one[0] * two[1] - one[1] * two[0], one[0] * two[0] + one[1] * two[1])


def _stretch(curve: Curve, start: float, end: float, within_mm: float) -> tuple[list[Edge], float]:
    points = [curve.point(start + (end - start) * k / _SAMPLES) for k in range(_SAMPLES + 1)]
    straight = Edge(points[0], points[-1])
    off = max(straight.distance_mm(p) for p in points)
    if off <= min(within_mm, 1e-6) and _runs_forward(points):
        return [straight], off
    return _one_circle(points, within_mm) or _bisected(curve, start, end, within_mm, 0)


def _runs_forward(points: Sequence[Point]) -> bool:
    (x0, y0), (x1, y1) = points[0], points[-1]
    along = [(x - x0) * (x1 - x0) + (y - y0) * (y1 - y0) for x, y in points]
    return all(b >= a for a, b in pairwise(along))


def _one_circle(points: list[Point], within_mm: float) -> tuple[list[Edge], float] | None:
    """The circle or arc that all points lie on; None when there is none."""
    closed = _apart(points[0], points[-1]) <= 1e-9
    found = circle_through(points[:-1] if closed else points)
    if found is None:
        return None
    centre, radius = found
    sweep = turned_rad(points, centre)
    off = stray_mm(points, centre, radius)
    if off > within_mm or abs(sweep) < 0.05 or abs(sweep) > tau + 1e-6:
        return None
    if closed:
        return ([circle(centre, radius)], off) if abs(abs(sweep) - tau) < 1e-6 else None
    edges = arcs_round(centre, radius, points[0], points[-1], sweep)
    off = max(min(e.distance_mm(p) for e in edges) for p in points)
    return (list(edges), off) if off <= within_mm else None


def _bisected(curve: Curve, start: float, end: float, within_mm: float, depth: int) -> tuple[list[Edge], float]:
    a, b = curve.point(start), curve.point(end)
    pair = _two_arcs(a, curve.direction(start, end), b, curve.direction(end, start))
    # A closed stretch has no chord to build on, and a first guess over a long one can hit by chance.
    if pair and depth >= 2:
        off = _both_ways(curve, start, end, pair)
        if off <= within_mm:
            return pair, off
    if depth >= _DEEPEST:
        line = [Edge(a, b)]
        return line, _both_ways(curve, start, end, line)
    middle = 0.5 * (start + end)
    first, off_first = _bisected(curve, start, middle, within_mm, depth + 1)
    second, off_second = _bisected(curve, middle, end, within_mm, depth + 1)
    return first + second, max(off_first, off_second)


def _two_arcs(a: Point, along_a: Point, b: Point, along_b: Point) -> list[Edge] | None:
    """Two arcs that leave a and reach b in given directions and meet without a corner; None where none do.

    Both tangent lengths are equal, which settles the joint; plane geometry.
    """
    vx, vy = b[0] - a[0], b[1] - a[1]
    squared = vx * vx + vy * vy
    if squared == 0.0 or along_a == (0.0, 0.0) or along_b == (0.0, 0.0):
        return None
    sx, sy = along_a[0] + along_b[0], along_a[1] + along_b[1]
    onward = vx * sx + vy * sy
    bend = 2.0 * (1.0 - along_a[0] * along_b[0] - along_a[1] * along_b[1])
    if bend > 1e-12:
        reach = (-onward + sqrt(onward * onward + bend * squared)) / bend
    elif onward > 0.0:
        reach = squared / (2.0 * onward)
    else:
        return None
    dx, dy = along_a[0] - along_b[0], along_a[1] - along_b[1]
    joint = (0.5 * (a[0] + b[0] + reach * dx), 0.5 * (a[1] + b[1] + reach * dy))
    first = _angle(along_a, (joint[0] - a[0], joint[1] - a[1]))
    second = _angle((b[0] - joint[0], b[1] - joint[1]), along_b)
    if max(abs(first), abs(second)) > 1.2:
        return None
    return [bulged(a, joint, tan(0.5 * first)), bulged(joint, b, tan(0.5 * second))]


def _both_ways(curve: Curve, start: float, end: float, edges: Sequence[Edge]) -> float:
    """Greatest distance from the curve to the edges and from the edges to the curve."""
    there = max(min(e.distance_mm(curve.point(start + (end - start) * k / 8)) for e in edges) for k in range(1, 8))
    return max(there, *(_to_curve(curve, start, end, edge.middle) for edge in edges))


def _to_curve(curve: Curve, start: float, end: float, point: Point) -> float:
    """From a point to the nearest of a short stretch of curve: thirds are left out until the foot is found."""
    low, high = start, end
    for _ in range(24):
        third = (high - low) / 3.0
        near, far = _apart(curve.point(low + third), point), _apart(curve.point(high - third), point)
        low, high = (low, high - third) if near < far else (low + third, high)
    return _apart(curve.point(0.5 * (low + high)), point)


def _apart(a: Point, b: Point) -> float:
    return hypot(a[0] - b[0], a[1] - b[1])
