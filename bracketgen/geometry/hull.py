"""The tight belt around discs and points: arcs joined by straight common tangents."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from bracketgen.errors import GeometryFault
from bracketgen.geometry.combine import tidy
from bracketgen.geometry.contour import Circle, Contour, Edge
from bracketgen.geometry.edge import Arc, Line
from bracketgen.geometry.plane import Point
from bracketgen.tolerances import SAME_POINT_MM

_TURN = 2 * math.pi


def _outermost(discs: Sequence[Circle]) -> list[Circle]:
    """The discs that none of the larger ones kept before them covers.

    What sticks out by less than five points' width would leave an edge too short to tell where it goes.
    """
    least = 5 * SAME_POINT_MM
    keep: list[Circle] = []
    for d in sorted(
        dict.fromkeys(d if d.radius > least else Circle(d.centre, 0.0) for d in discs), key=lambda d: -d.radius
    ):
        if not any(d.centre.distance(k.centre) + d.radius <= k.radius + least for k in keep):
            keep.append(d)
    return keep


def _belt_order(discs: list[Circle]) -> list[tuple[int, float]]:
    """Discs along the belt, anticlockwise, each with the heading (rad) of the tangent that leaves it."""
    x = np.array([d.centre.x for d in discs])
    y = np.array([d.centre.y for d in discs])
    r = np.array([d.radius for d in discs])
    first = int(np.lexsort((-x, y - r))[0])
    at, heading, turned = first, 0.0, 0.0
    order: list[tuple[int, float]] = []
    for _ in range(2 * len(discs) + 2):
        apart = np.hypot(x - x[at], y - y[at])
        with np.errstate(invalid="ignore", divide="ignore"):
            to = np.arctan2(y - y[at], x - x[at]) + np.arcsin(np.clip((r[at] - r) / apart, -1, 1))
        left_turn = np.mod(to - heading, _TURN)
        left_turn[left_turn > _TURN - 1e-9] = 0.0
        left_turn[at] = np.inf
        least = left_turn.min()
        ties = np.flatnonzero(left_turn <= least + 1e-12)
        nxt = int(ties[np.argmax(apart[ties])])
        if turned + least >= _TURN - 1e-9 and at == first and order:
            break
        turned += float(least)
        heading = float(to[nxt])
        order.append((at, heading))
        at = nxt
    return order


def hull(discs: Sequence[Circle]) -> Contour:
    """The belt around the discs (radius 0 = a point), anticlockwise, every joint a true tangent point.

    Raises GeometryFault when there is no area inside (points on one line).
    """
    outer = _outermost(discs)
    if len(outer) == 1:
        if outer[0].radius <= 0:
            raise GeometryFault("an outline around a single point has no area", outer[0].centre)
        return tidy(outer[0].contour())
    order = _belt_order(outer)
    edges: list[Edge] = []
    touch = [_touch(outer, n, order) for n in range(len(order))]
    for n in range(len(order)):
        disc = outer[order[n][0]]
        arrive, leave = touch[n - 1][1], touch[n][0]
        if arrive.distance(leave) > SAME_POINT_MM:
            edges.append(Arc.make(arrive, leave, disc.centre, disc.radius, 1.0))
        edges.append(Line(leave if edges else arrive, touch[n][1]))
    belt = Contour(tuple(_sealed(edges)))
    if belt.area <= 1e-6:
        raise GeometryFault("an outline around points on one line has no area", outer[0].centre)
    return tidy(belt)


def _touch(discs: list[Circle], n: int, order: list[tuple[int, float]]) -> tuple[Point, Point]:
    """Where the belt leaves disc n and where it arrives at the next."""
    here, there = discs[order[n][0]], discs[order[(n + 1) % len(order)][0]]
    right = Point(math.sin(order[n][1]), -math.cos(order[n][1]))
    return here.centre.plus(right, here.radius), there.centre.plus(right, there.radius)


def _sealed(edges: list[Edge]) -> list[Edge]:
    """Each edge made to start at the very point where the one before it ends."""
    ends = [e.end for e in edges]
    return [e.between(ends[i - 1], e.end) for i, e in enumerate(edges)]
