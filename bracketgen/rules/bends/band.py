"""The lowest and highest points of edges between two upright lines."""

from __future__ import annotations

import math

from bracketgen.geometry.contour import Contour, Edge
from bracketgen.geometry.crossing import line_circle
from bracketgen.geometry.edge import Arc, Line
from bracketgen.geometry.plane import Point


def extremes_in_band(chain: Contour, x0: float, x1: float) -> list[Point]:
    """Every point of the chain with x0 <= x <= x1 that can be its lowest or highest one there."""
    return [p for e in chain.edges for p in edge_extremes(e, x0, x1)]


def edge_extremes(edge: Edge, x0: float, x1: float) -> list[Point]:
    """Of one edge: its ends inside the band, where it crosses the band's sides, and an arc's top and bottom."""
    points = [p for p in (edge.start, edge.end) if x0 <= p.x <= x1]
    for x in (x0, x1):
        points += crossings(edge, x)
    if isinstance(edge, Arc):
        for turn in (math.pi / 2, -math.pi / 2):
            p = Point(edge.centre.x, edge.centre.y + math.copysign(edge.radius, turn))
            if x0 <= p.x <= x1 and edge.holds(p, 0.0):
                points.append(p)
    return points


def crossings(edge: Edge, x: float) -> list[Point]:
    """Where the edge crosses the upright line at `x`; an edge that runs along that line gives none."""
    if isinstance(edge, Line):
        a, b = edge.start, edge.end
        if (a.x - x) * (b.x - x) > 0 or a.x == b.x:
            return []
        return [Point(x, a.y + (b.y - a.y) * (x - a.x) / (b.x - a.x))]
    return [p for p in line_circle(Point(x, 0.0), Point(0.0, 1.0), edge.centre, edge.radius) if edge.holds(p, 1e-9)]
