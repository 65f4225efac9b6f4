"""Rounding and chamfering corners in closed form, corner by corner.

The centre of a round of radius r is where the carriers of the two neighbours, each shifted by r towards the
round, meet; the round starts and ends at the feet of that centre. When an edge beside the corner is too short
to carry the round, it is swallowed and the round reaches for the next edge. A radius that still does not
fit is an error or, where the caller says so, is replaced by the largest that fits, and the caller is told.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import Enum

from bracketgen.errors import GeometryFault
from bracketgen.geometry.contour import Contour, Edge
from bracketgen.geometry.crossing import circle_circle, line_circle, line_line, meeting_points
from bracketgen.geometry.edge import Arc, Line
from bracketgen.geometry.plane import Point
from bracketgen.tolerances import SAME_POINT_MM, SHORTEST_EDGE_MM

#: A turn below this (rad) is a smooth joint, not a corner.
SMOOTH_RAD = 1e-6
#: A reduced radius is a whole number of steps of 0.05 mm, so that the drawing shows a plain figure.
_RADIUS_STEPS_PER_MM = 20


class Corner(Enum):
    """Which corners of a chain around metal: `OUTER` ones stick out, `HOLLOW` ones run in."""

    OUTER = 1
    HOLLOW = -1


class CornerFit(Enum):
    """What to do with a radius that has no room."""

    EXACT = "refuse it"
    LARGEST = "take the largest that fits"


#: How many short edges a round may swallow at one corner.
_MOST_SWALLOWED = {Corner.HOLLOW: 4, Corner.OUTER: 2}
#: How long the swallowed edges may be together, as a share of the radius. A hollow round only adds metal. An outer
#: one takes it away: it may smooth a nick, never eat a side of the part.
_SWALLOWED_SHARE = {Corner.HOLLOW: math.inf, Corner.OUTER: 0.25}
#: An outer round that swallows may reach this many times as far from its corner as between straight edges.
_REACH_SHARE = 1.25


@dataclass(frozen=True, slots=True)
class Reduced:
    """A corner whose radius had no room: what was asked for, what was made (0 = left sharp), where."""

    at: Point
    asked_mm: float
    made_mm: float


def turn_rad(before: Edge, after: Edge) -> float:
    """How far the chain turns from one edge to the next: left positive, -pi to pi."""
    p = after.start
    a, b = before.direction_at(p), after.direction_at(p)
    return math.atan2(a.cross(b), a.dot(b))


def corner_kind(before: Edge, after: Edge) -> Corner | None:
    """Outer, hollow, or None where the joint is smooth."""
    turn = turn_rad(before, after)
    if abs(turn) < SMOOTH_RAD:
        return None
    return Corner.OUTER if turn > 0 else Corner.HOLLOW


def _centres(a: Edge, b: Edge, shift: float) -> list[Point]:
    """Where the carriers of both edges, shifted to the left by `shift` (negative: right), meet."""
    if isinstance(a, Arc) and isinstance(b, Line):
        return _centres(b, a, shift)
    if isinstance(a, Line):
        d = a.end.minus(a.start).unit()
        p = a.start.plus(d.left(), shift)
        if isinstance(b, Line):
            e = b.end.minus(b.start).unit()
            meet = line_line(p, d, b.start.plus(e.left(), shift), e)
            return [] if meet is None else [meet]
        r = _shifted_radius(b, shift)
        return line_circle(p, d, b.centre, r) if r > 0 else []
    assert isinstance(b, Arc)
    ra, rb = _shifted_radius(a, shift), _shifted_radius(b, shift)
    return circle_circle(a.centre, ra, b.centre, rb) if ra > 0 and rb > 0 else []


def _shifted_radius(arc: Arc, shift: float) -> float:
    return arc.radius - shift if arc.sweep_rad > 0 else arc.radius + shift


def _foot(edge: Edge, centre: Point) -> Point:
    if isinstance(edge, Line):
        d = edge.end.minus(edge.start).unit()
        return edge.start.plus(d, centre.minus(edge.start).dot(d))
    return edge.centre.plus(centre.minus(edge.centre).unit(), edge.radius)


def _room(edge: Edge, used: float) -> bool:
    """Whether what is left of an edge is either nothing or long enough to be cut."""
    left = edge.length - used
    return used >= -SAME_POINT_MM and (abs(left) <= SAME_POINT_MM or left >= SHORTEST_EDGE_MM - SAME_POINT_MM)


def _round_between(a: Edge, b: Edge, radius: float, kind: Corner, near: Point) -> tuple[list[Edge], Arc] | None:
    """`a` shortened, the round, `b` shortened; and the round alone. None where the radius has no room."""
    for centre in sorted(_centres(a, b, radius * kind.value), key=near.distance):
        p, q = _foot(a, centre), _foot(b, centre)
        if p.distance(q) <= SAME_POINT_MM:
            continue
        if not (_room(a, a.length - a.along(p)) and _room(b, b.along(q))):
            continue
        arc = Arc.make(p, q, centre, radius, kind.value)
        if abs(arc.sweep_rad) > math.pi * 1.001:
            continue
        start = [] if a.along(p) <= SAME_POINT_MM else [a.between(a.start, p)]
        end = [] if b.length - b.along(q) <= SAME_POINT_MM else [b.between(q, b.end)]
        return _sewn([*start, arc, *end], a.start, b.end), arc
    return None


def _sewn(edges: list[Edge], start: Point, end: Point) -> list[Edge]:
    """The same edges with their outer ends set to the given vertices (equal within noise)."""
    edges[0] = edges[0].between(start, edges[0].end)
    edges[-1] = edges[-1].between(edges[-1].start, end)
    return edges


def _round_at(edges: list[Edge], i: int, radius: float, kind: Corner) -> list[Edge] | None:
    """The chain with the corner at the start of edge `i` rounded, swallowing short edges beside it."""
    n = len(edges)
    turned = edges[i:] + edges[:i]
    most = max(0, min(_MOST_SWALLOWED[kind], n - 3))
    before = math.fsum(e.area_term() for e in edges)
    for swallowed in range(most + 1):
        for ahead in range(swallowed + 1):
            behind = swallowed - ahead
            lost = math.fsum(e.length for e in (*turned[:ahead], *turned[n - behind :]))
            if lost > _SWALLOWED_SHARE[kind] * radius:
                continue
            a, b = turned[n - 1 - behind], turned[ahead]
            found = _round_between(a, b, radius, kind, turned[0].start)
            rest = turned[ahead + 1 : n - 1 - behind]
            if found is None or not _clear_of(found[1], rest):
                continue
            if lost and kind is Corner.OUTER and not _stays_near(found[1], turned[0].start, a, b, lost):
                continue
            made = found[0]
            chain = made + rest
            # A hollow round only adds metal, an outer one only takes it away.
            if (math.fsum(e.area_term() for e in chain) - before) * kind.value < 0:
                return chain
    return None


def _stays_near(round_: Arc, corner: Point, a: Edge, b: Edge, lost: float) -> bool:
    """Whether a round that swallowed `lost` mm takes away no more than the corner."""
    u, v = a.direction_at(a.end), b.direction_at(b.start)
    turn = math.atan2(u.cross(v), u.dot(v))
    if turn <= 0:
        return False
    reach = _REACH_SHARE * round_.radius * math.tan(turn / 2) + lost
    return max(corner.distance(round_.start), corner.distance(round_.end)) <= reach


def _clear_of(round_: Arc, rest: list[Edge]) -> bool:
    """Whether the new round stays away from the edges that are not its neighbours."""
    x0, y0, x1, y1 = round_.bounds()
    for e in rest:
        a0, b0, a1, b1 = e.bounds()
        apart = a0 > x1 or a1 < x0 or b0 > y1 or b1 < y0
        if apart:
            continue
        ends = (round_.start, round_.end)
        if any(min(p.distance(q) for q in ends) > SAME_POINT_MM for p in meeting_points(round_, e)):
            return False
    return True


def _largest(edges: list[Edge], i: int, radius: float, kind: Corner) -> tuple[float, list[Edge]] | None:
    low, high = 0, math.ceil(radius * _RADIUS_STEPS_PER_MM)
    best: tuple[float, list[Edge]] | None = None
    while high - low > 1:
        middle = (low + high) // 2
        smaller = middle / _RADIUS_STEPS_PER_MM
        chain = _round_at(edges, i, smaller, kind)
        if chain is None:
            high = middle
        else:
            low, best = middle, (smaller, chain)
    return best


def round_corners(
    chain: Contour,
    radius_mm: float,
    kind: Corner,
    fit: CornerFit,
    wanted: Callable[[Point], bool] = lambda _p: True,
) -> tuple[Contour, tuple[Reduced, ...]]:
    """The chain (anticlockwise around metal) with every wanted corner of the kind rounded.

    Raises GeometryFault for a radius that has no room when `fit` is EXACT.
    """
    edges = list(chain.edges)
    todo = [
        b.start for a, b in zip(edges[-1:] + edges[:-1], edges, strict=True)
        if corner_kind(a, b) is kind and wanted(b.start)
    ]  # fmt: skip
    reduced: list[Reduced] = []
    for p in todo:
        i = next((k for k, e in enumerate(edges) if e.start == p), None)
        # A corner may be gone: a neighbour's round has swallowed it.
        if i is None or corner_kind(edges[i - 1], edges[i]) is not kind:
            continue
        made = _round_at(edges, i, radius_mm, kind)
        if made is None:
            largest = _largest(edges, i, radius_mm, kind)
            made_mm = largest[0] if largest else 0.0
            if fit is CornerFit.EXACT:
                raise GeometryFault(
                    f"a corner radius of {radius_mm:g} mm does not fit", p, f"the largest that fits is {made_mm:.2f} mm"
                )
            reduced.append(Reduced(p, radius_mm, made_mm))
            made = largest[1] if largest else edges
        edges = made
    return Contour(tuple(edges)), tuple(reduced)


def round_corner(chain: Contour, at: Point, radius_mm: float) -> Contour:
    """The chain with the corner at vertex `at` rounded by exactly this radius, or GeometryFault."""
    edges = list(chain.edges)
    i = _vertex(edges, at)
    kind = corner_kind(edges[i - 1], edges[i])
    if kind is None:
        return chain
    return round_corners(chain, radius_mm, kind, CornerFit.EXACT, lambda p: p == at)[0]


def chamfer_corner(chain: Contour, at: Point, leg_mm: float) -> Contour:
    """The chain with the corner at vertex `at` cut off `leg_mm` along both straight neighbours."""
    edges = list(chain.edges)
    i = _vertex(edges, at)
    a, b = edges[i - 1], edges[i]
    if not (isinstance(a, Line) and isinstance(b, Line)):
        raise GeometryFault("a chamfer needs two straight edges", at)
    if leg_mm > min(a.length, b.length) - SHORTEST_EDGE_MM:
        cure = f"the neighbours are {a.length:.2f} and {b.length:.2f} mm long"
        raise GeometryFault(f"a chamfer of {leg_mm:g} mm does not fit", at, cure)
    p = a.end.plus(a.direction_at(a.end), -leg_mm)
    q = b.start.plus(b.direction_at(b.start), leg_mm)
    turned = edges[i:] + edges[:i]
    return Contour((Line(p, q), Line(q, b.end), *turned[1:-1], Line(a.start, p)))


def _vertex(edges: Sequence[Edge], at: Point) -> int:
    return min(range(len(edges)), key=lambda k: edges[k].start.distance(at))
