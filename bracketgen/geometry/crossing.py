"""Where two edges meet: crossing points, touching points and the ends of shared stretches.

Everything is closed form. Two carriers (lines or circles) within SAME_CARRIER_MM of touching count as
touching, and the touching point is then the foot on the common normal: solving the nearly double root
instead would lose half of the digits.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from bracketgen.errors import GeometryFault
from bracketgen.geometry.contour import Contour, Edge
from bracketgen.geometry.edge import Arc, Line
from bracketgen.geometry.plane import Point
from bracketgen.tolerances import SAME_CARRIER_MM, SAME_POINT_MM


def line_circle(start: Point, direction: Point, centre: Point, radius: float) -> list[Point]:
    """Points where the endless line (unit `direction`) meets the circle: none, the touching point, or two."""
    to_centre = centre.minus(start)
    foot = start.plus(direction, to_centre.dot(direction))
    off = abs(direction.cross(to_centre))
    if abs(off - radius) <= SAME_CARRIER_MM:
        return [centre.plus(foot.minus(centre).unit(), radius)]
    if off > radius:
        return []
    half = math.sqrt((radius - off) * (radius + off))
    return [foot.plus(direction, -half), foot.plus(direction, half)]


def circle_circle(c1: Point, r1: float, c2: Point, r2: float) -> list[Point]:
    """Points where two circles with different centres meet: none, the touching point, or two."""
    apart = c1.distance(c2)
    if apart <= SAME_CARRIER_MM:
        return []
    towards = c2.minus(c1).unit()
    if abs(apart - (r1 + r2)) <= SAME_CARRIER_MM:
        return [c1.plus(towards, r1)]
    if abs(apart - abs(r1 - r2)) <= SAME_CARRIER_MM:
        return [c1.plus(towards, r1 if r1 > r2 else -r1)]
    if apart > r1 + r2 or apart < abs(r1 - r2):
        return []
    along = (apart + (r1 - r2) * (r1 + r2) / apart) / 2
    across = math.sqrt(max(0.0, (r1 - along) * (r1 + along)))
    foot = c1.plus(towards, along)
    return [foot.plus(towards.left(), across), foot.plus(towards.left(), -across)]


def line_line(p: Point, d: Point, q: Point, e: Point) -> Point | None:
    """Where two endless lines (unit directions) cross, or None when parallel."""
    turn = d.cross(e)
    if abs(turn) < 1e-12:
        return None
    return p.plus(d, q.minus(p).cross(e) / turn)


def on_edge(edge: Edge, p: Point) -> bool:
    """Whether a point of the edge's carrier lies on the edge, ends included."""
    return -SAME_POINT_MM <= edge.along(p) <= edge.length + SAME_POINT_MM


def shares_carrier(a: Edge, b: Edge) -> bool:
    """Whether both edges run on the same line or the same circle, within SAME_CARRIER_MM over their length."""
    if isinstance(a, Line) and isinstance(b, Line):
        long, short = (a, b) if a.length >= b.length else (b, a)
        d = long.end.minus(long.start).unit()
        return all(abs(d.cross(p.minus(long.start))) <= SAME_CARRIER_MM for p in (short.start, short.end))
    if isinstance(a, Arc) and isinstance(b, Arc):
        return (
            abs(a.radius - b.radius) <= SAME_CARRIER_MM
            and abs(a.centre.x - b.centre.x) <= SAME_CARRIER_MM
            and abs(a.centre.y - b.centre.y) <= SAME_CARRIER_MM
        )
    return False


def _carrier_points(a: Edge, b: Edge) -> list[Point]:
    if isinstance(a, Line):
        d = a.end.minus(a.start).unit()
        if isinstance(b, Line):
            p = line_line(a.start, d, b.start, b.end.minus(b.start).unit())
            return [] if p is None else [p]
        return line_circle(a.start, d, b.centre, b.radius)
    if isinstance(b, Line):
        return _carrier_points(b, a)
    return circle_circle(a.centre, a.radius, b.centre, b.radius)


def meeting_points(a: Edge, b: Edge) -> list[Point]:
    """Every point at which the two edges cross or touch, and the ends of a stretch that they share."""
    if shares_carrier(a, b):
        ends = [p for p in (b.start, b.end) if on_edge(a, p)]
        return ends + [p for p in (a.start, a.end) if on_edge(b, p)]
    return [p for p in _carrier_points(a, b) if on_edge(a, p) and on_edge(b, p)]


# -- a closed chain that crosses or touches itself

#: Carriers 50 mm round that miss true tangency by 1e-10 mm cross sqrt(2 x 50 x 1e-10) = 1e-4 mm beside their joint.
_JOINT_BLUR_MM = 1e-4


def self_meeting(chain: Contour) -> tuple[int, int, Point] | None:
    """The first two edges (counted from 0) that meet anywhere but at their shared vertex, and where."""
    edges = chain.edges
    boxes = np.array([e.bounds() for e in edges])
    lo, hi = boxes[:, :2] - SAME_POINT_MM, boxes[:, 2:] + SAME_POINT_MM
    for i in range(len(edges) - 1):
        near = np.all((lo[i + 1 :] <= hi[i]) & (hi[i + 1 :] >= lo[i]), axis=1)
        for j in np.flatnonzero(near) + i + 1:
            p = _stray_meeting(edges[i], edges[int(j)], _joints(edges, i, int(j)))
            if p is not None:
                return i, int(j), p
    return None


def _joints(edges: Sequence[Edge], i: int, j: int) -> list[Point]:
    """The vertices at which edges i < j follow each other; a vertex that others pass through is no joint."""
    after = [edges[j].start] if j == i + 1 else []
    return after + ([edges[i].start] if i == 0 and j == len(edges) - 1 else [])


def _stray_meeting(a: Edge, b: Edge, joints: list[Point]) -> Point | None:
    for p in meeting_points(a, b):
        # Near a smooth joint two carriers part so slowly that the computed meeting may lie beside the vertex.
        if all(p.distance(s) > _JOINT_BLUR_MM for s in joints):
            return p
    return None


def require_simple(chain: Contour, what: str) -> Contour:
    """The chain itself, or GeometryFault naming both edges and the place where they meet."""
    found = self_meeting(chain)
    if found is None:
        return chain
    i, j, p = found
    raise GeometryFault(f"{what}: edge {i + 1} and edge {j + 1} cross or touch", p)
