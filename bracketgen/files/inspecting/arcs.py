"""True arcs for what a file from anyone draws otherwise: smooth curves, and runs of short straight lines."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import atan2, ceil, cos, dist, fsum, hypot, isfinite, pi, radians, sqrt, tan, tau
from typing import Final

from bracketgen.files.edges import Edge, Point, bulged, circle, turn_rad

#: Longest arc that is made as one edge: well under the half circle of bulge 1.
_LONGEST_RAD: Final = 0.9 * pi

# -- the circle through points


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
    return fsum((b - a + pi) % tau - pi for a, b in pairwise(angles))


def stray_mm(points: Sequence[Point], centre: Point, radius_mm: float) -> float:
    """How far the points lie off the circle at most."""
    return max(abs(dist(p, centre) - radius_mm) for p in points)


def arcs_round(centre: Point, radius_mm: float, start: Point, end: Point, sweep_rad: float) -> tuple[Edge, ...]:
    """The arc from start to end about a centre, as edges well under a half circle each.

    Start and end are kept; points between lie on the circle.
    """
    pieces = max(1, ceil(abs(sweep_rad) / _LONGEST_RAD))
    first = atan2(start[1] - centre[1], start[0] - centre[0])
    whole = Edge(start, end, centre, radius_mm, first, sweep_rad)
    inner = [whole.point_at(first + sweep_rad * k / pieces) for k in range(1, pieces)]
    return tuple(bulged(a, b, tan(sweep_rad / pieces / 4.0)) for a, b in pairwise([start, *inner, end]))


def with_ends(edges: tuple[Edge, ...], start: Point, end: Point) -> tuple[Edge, ...]:
    """The row of edges with its first and last point moved a little; arcs keep their centre and radius."""
    edges = (replace(edges[0], start=start), *edges[1:])
    return (*edges[:-1], replace(edges[-1], end=end))


# -- smooth curves as tangent arcs

#: How far arcs may stray from the spline or ellipse they stand for: a tenth of the shortest edge that is cut.
#: Own choice; far under what a thermal cut holds.
CURVE_MM: Final = 0.005
#: Directions before and after a knot that differ by more are a corner.
_CORNER_RAD: Final = 1e-3
_DEEPEST: Final = 20
#: A curve that needs more arcs is no line of a part. Own choice: ten times a long engraved word.
_MOST_ARCS: Final = 2000
_SAMPLES: Final = 48
#: A step to one side of a knot, as a part of the stretch.
_STEP: Final = 1e-9


@dataclass(frozen=True, slots=True)
class Curve:
    """A curve and its derivative by their parameter.

    It can have corners only at its `breaks`, the first and last of which are its ends.
    """

    point: Callable[[float], Point]
    derivative: Callable[[float], Point]
    breaks: tuple[float, ...]

    def direction(self, at: float, toward: float) -> Point:
        """Unit direction of travel at a parameter, taken on the side of `toward`; (0, 0) where the curve rests."""
        x, y = self.derivative(at + (toward - at) * _STEP)
        length = hypot(x, y)
        return (x / length, y / length) if length > 0.0 else (0.0, 0.0)


def arcs_along(curve: Curve, within_mm: float = CURVE_MM) -> tuple[tuple[Edge, ...], float]:
    """Lines and arcs along a curve, and how far apart the two are at most, measured both ways, mm.

    A curve that is a circle or an arc to within the limit becomes one. Raises ValueError for one that would take
    thousands of arcs.
    """
    breaks = curve.breaks
    corners = [breaks[0], breaks[-1]]
    for before, here, after in zip(breaks[:-2], breaks[1:-1], breaks[2:], strict=True):
        if abs(_angle(curve.direction(here, before), curve.direction(here, after))) > _CORNER_RAD:
            corners.insert(-1, here)
    edges: list[Edge] = []
    worst = 0.0
    for start, end in pairwise(corners):
        points = [curve.point(start + (end - start) * k / _SAMPLES) for k in range(_SAMPLES + 1)]
        off = _straight_off(points, within_mm)
        if off is not None:
            edges.append(Edge(points[0], points[-1]))
        else:
            made = _one_circle(points, within_mm)
            off = made[1] if made else _bisected(curve, (start, end), within_mm, edges, 0)
            edges += made[0] if made else ()
        worst = max(worst, off)
    return tuple(edges), worst


def _angle(one: Point, two: Point) -> float:
    return atan2(one[0] * two[1] - one[1] * two[0], one[0] * two[0] + one[1] * two[1])


def _straight_off(points: Sequence[Point], within_mm: float) -> float | None:
    """How far points that run straight on stray from their chord; None when they stray or turn back."""
    (x0, y0), (x1, y1) = points[0], points[-1]
    off = max(Edge(points[0], points[-1]).distance_mm(p) for p in points)
    along = [(x - x0) * (x1 - x0) + (y - y0) * (y1 - y0) for x, y in points]
    return off if off <= min(within_mm, 1e-6) and all(b >= a for a, b in pairwise(along)) else None


def _one_circle(points: list[Point], within_mm: float) -> tuple[tuple[Edge, ...], float] | None:
    """The circle or arc that all points lie on, and how far off they are; None when there is none."""
    closed = dist(points[0], points[-1]) <= 1e-9
    found = circle_through(points[:-1] if closed else points)
    if found is None:
        return None
    centre, radius = found
    sweep = turned_rad(points, centre)
    off = stray_mm(points, centre, radius)
    if off > within_mm or abs(sweep) < 0.05 or abs(sweep) > tau + 1e-6:
        return None
    if closed:
        return ((circle(centre, radius),), off) if abs(abs(sweep) - tau) < 1e-6 else None
    edges = arcs_round(centre, radius, points[0], points[-1], sweep)
    off = max(min(e.distance_mm(p) for e in edges) for p in points)
    return (edges, off) if off <= within_mm else None


def _bisected(curve: Curve, ends: tuple[float, float], within_mm: float, made: list[Edge], depth: int) -> float:
    """Puts arcs along a stretch into `made`, halving it until they keep within the limit; how far they stray."""
    start, end = ends
    a, b = curve.point(start), curve.point(end)
    pair = _two_arcs(a, curve.direction(start, end), b, curve.direction(end, start))
    # A closed stretch has no chord to build on, and a first guess over a long one can hit by chance.
    if pair and depth >= 2:
        off = _both_ways(curve, ends, pair, within_mm)
        if off <= within_mm:
            made += pair
            return off
    if len(made) > _MOST_ARCS:
        raise ValueError(f"more than {_MOST_ARCS} arcs along one curve")
    if depth >= _DEEPEST:
        made.append(Edge(a, b))
        return _both_ways(curve, ends, made[-1:], hypot(*a) + hypot(*b))
    middle = 0.5 * (start + end)
    first = _bisected(curve, (start, middle), within_mm, made, depth + 1)
    return max(first, _bisected(curve, (middle, end), within_mm, made, depth + 1))


def _two_arcs(a: Point, along_a: Point, b: Point, along_b: Point) -> list[Edge] | None:
    """Two arcs that leave a and reach b in given directions and meet without a corner; None where none do.

    Both tangent lengths are equal, which settles the joint; plane geometry.
    """
    vx, vy = b[0] - a[0], b[1] - a[1]
    squared = vx * vx + vy * vy
    if squared == 0.0 or along_a == (0.0, 0.0) or along_b == (0.0, 0.0):
        return None
    onward = vx * (along_a[0] + along_b[0]) + vy * (along_a[1] + along_b[1])
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


def _both_ways(curve: Curve, ends: tuple[float, float], edges: Sequence[Edge], within_mm: float) -> float:
    """Greatest distance from the curve to the edges and from the edges to the curve; past the limit, some beyond it."""
    start, end = ends
    there = max(min(e.distance_mm(curve.point(start + (end - start) * k / 8)) for e in edges) for k in range(1, 8))
    return there if there > within_mm else max(there, *(_to_curve(curve, ends, edge.middle) for edge in edges))


def _to_curve(curve: Curve, ends: tuple[float, float], point: Point) -> float:
    """From a point to the nearest of a short stretch of curve: thirds are left out until the foot is found."""
    low, high = ends
    for _ in range(24):
        third = (high - low) / 3.0
        near, far = dist(curve.point(low + third), point), dist(curve.point(high - third), point)
        low, high = (low, high - third) if near < far else (low + third, high)
    return dist(curve.point(0.5 * (low + high)), point)


# -- runs of short lines that stand for an arc

#: Four chords and more that turn by up to this much each are an arc: a twelve-sided opening counts as a circle,
#: an eight-sided one does not (common practice, no source).
_MOST_TURN_RAD: Final = radians(30.5)
_FEWEST: Final = 4
#: All chords together turn at least this far; less is a line drawn a little crooked. Own choice.
_LEAST_SWEEP_RAD: Final = radians(15.0)
#: No chord of a run is longer than this many times the middle one: longer ones are flats.
_LONGEST_CHORD: Final = 2.5
#: How far corners may stray from the circle: numbers written to two decimals are off by 0.007 mm.
_STRAY_MM: Final = 0.01


@dataclass(frozen=True, slots=True)
class FacetRun:
    """Edges `first` to `first + count - 1` of a chain stand for an arc (`count` = all of a ring: a circle).

    `deviation_mm` is the greatest distance between the lines and the arc, measured both ways.
    """

    first: int
    count: int
    centre: Point
    radius_mm: float
    sweep_rad: float
    deviation_mm: float


def facet_runs(ring: Sequence[Edge]) -> tuple[tuple[Edge, ...], tuple[FacetRun, ...]]:
    """The closed ring, begun where no run is cut in two, and its runs, which don't overlap."""
    edges = _begun_at_a_corner(ring)
    whole = _run(edges, 0, len(edges))
    if whole and abs(abs(whole.sweep_rad) - tau) < 1e-6:
        return edges, (whole,)
    runs: list[FacetRun] = []
    at = 0
    while at + _FEWEST <= len(edges):
        run = _longest(edges, at)
        if run:
            runs.append(run)
        at += run.count if run else 1
    return edges, tuple(runs)


def _begun_at_a_corner(ring: Sequence[Edge]) -> tuple[Edge, ...]:
    """Turned round so that it begins where lines and arcs meet, or else at the sharpest corner."""

    def sharpness(i: int) -> tuple[int, float]:
        before, after = ring[i - 1], ring[i]
        if before.is_line != after.is_line:
            return 2, 0.0
        if before.is_line and abs(turn_rad(before, after)) > _MOST_TURN_RAD:
            return 1, abs(turn_rad(before, after))
        # A long flat between facets ends the run as well, however little it turns.
        return 0, abs(before.length_mm - after.length_mm) / max(before.length_mm, after.length_mm, 1e-12)

    start = max(range(len(ring)), key=sharpness) if ring else 0
    return (*ring[start:], *ring[:start])


def _longest(edges: Sequence[Edge], first: int) -> FacetRun | None:
    """The longest run that begins at an edge: doubled while it holds, then halved in between."""
    best = _run(edges, first, _FEWEST)
    if best is None:
        return None
    most = len(edges) - first
    low, high = _FEWEST, _FEWEST
    while high < most:
        high = min(2 * high, most)
        grown = _run(edges, first, high)
        if grown is None:
            break
        best, low = grown, high
    while high - low > 1:
        middle = (low + high) // 2
        grown = _run(edges, first, middle)
        if grown:
            best, low = grown, middle
        else:
            high = middle
    return best


def _run(edges: Sequence[Edge], first: int, count: int) -> FacetRun | None:
    """The run of `count` edges from one on, if they stand for an arc."""
    chosen = edges[first : first + count]
    if len(chosen) < _FEWEST or not all(e.is_line and e.length_mm > 0.0 for e in chosen):
        return None
    points = [chosen[0].start, *(e.end for e in chosen)]
    turns = [turn_rad(a, b) for a, b in pairwise(chosen)]
    if not (all(0.0 < t <= _MOST_TURN_RAD for t in turns) or all(0.0 < -t <= _MOST_TURN_RAD for t in turns)):
        return None
    lengths = sorted(e.length_mm for e in chosen)
    if lengths[-1] > _LONGEST_CHORD * lengths[len(lengths) // 2]:
        return None
    found = circle_through(points[:-1] if points[0] == points[-1] else points)
    if found is None:
        return None
    centre, radius = found
    sweep = turned_rad(points, centre)
    stray = stray_mm(points, centre, radius)
    chords = [abs(turned_rad([a, b], centre)) for a, b in pairwise(points)]
    # A chord's middle lies inside the arc by its rise; corners may lie off the circle besides.
    rise = radius * (1.0 - cos(max(chords) / 2.0))
    too_coarse = max(chords) > _MOST_TURN_RAD + 0.01
    if stray > min(_STRAY_MM, 0.05 * radius) or abs(sweep) < _LEAST_SWEEP_RAD or too_coarse:
        return None
    # The arc keeps both ends of the run, which shifts it by no more than they stray from the circle.
    return FacetRun(first, count, centre, radius, sweep, rise + 2.0 * stray)
