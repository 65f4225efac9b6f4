"""Exact distances between points, edges and cuts, and where they are; and what comes near what among many."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from bracketgen.geometry.contour import Circle, Contour, Cut, Edge
from bracketgen.geometry.crossing import circle_circle, meeting_points
from bracketgen.geometry.edge import Arc, Box, Line
from bracketgen.geometry.plane import Placement, Point, midpoint
from bracketgen.geometry.scratch import ChordSide, polygon

#: Where something can stand: one place, or all along an edge.
Locus = Point | Edge


@dataclass(frozen=True, slots=True)
class Gap:
    """Distance in mm (never below 0) and the two points that are that far apart."""

    mm: float
    here: Point
    there: Point

    @property
    def middle(self) -> Point:
        """Half way between the two points."""
        return midpoint(self.here, self.there)


def _measure(p: Point, q: Point) -> Gap:
    return Gap(p.distance(q), p, q)


def _feet(a: Edge, b: Edge) -> list[Gap]:
    """Candidates where both edges face each other square on."""
    if isinstance(a, Line) and isinstance(b, Line):
        return []
    if isinstance(a, Arc) and isinstance(b, Arc):
        apart = b.centre.minus(a.centre)
        if apart.length() == 0:
            return [_measure(a.middle, b.nearest(a.middle))]
        u = apart.unit()
        return [
            _measure(a.nearest(a.centre.plus(u, s * a.radius)), b.nearest(b.centre.plus(u, v * b.radius)))
            for s in (1.0, -1.0) for v in (1.0, -1.0)
        ]  # fmt: skip
    line, arc = (a, b) if isinstance(a, Line) else (b, a)
    assert isinstance(line, Line) and isinstance(arc, Arc)
    p = line.nearest(arc.centre)
    g = _measure(p, arc.nearest(p))
    return [g if line is a else Gap(g.mm, g.there, g.here)]


def edge_gap(a: Edge, b: Edge) -> Gap:
    """Distance between two edges; 0 where they meet."""
    meet = meeting_points(a, b)
    if meet:
        return Gap(0.0, meet[0], meet[0])
    ends = [_measure(p, b.nearest(p)) for p in (a.start, a.end)]
    ends += [_measure(a.nearest(p), p) for p in (b.start, b.end)]
    return min(ends + _feet(a, b), key=lambda g: g.mm)


def locus_gap(a: Locus, b: Locus) -> Gap:
    """Distance between two places or edges."""
    if isinstance(a, Point):
        return _measure(a, b if isinstance(b, Point) else b.nearest(a))
    return _measure(a.nearest(b), b) if isinstance(b, Point) else edge_gap(a, b)


def locus_box(a: Locus) -> Box:
    """x0, y0, x1, y1."""
    return (a.x, a.y, a.x, a.y) if isinstance(a, Point) else a.bounds()


def moved_locus(a: Locus, by: Placement) -> Locus:
    """The place or edge after a rigid move."""
    return by.point(a) if isinstance(a, Point) else a.moved(by)


def point_gap(p: Point, chain: Contour) -> Gap:
    """Distance from a point to a chain."""
    return min((_measure(p, e.nearest(p)) for e in chain.edges), key=lambda g: g.mm)


def _circle_edge(c: Circle, e: Edge) -> Gap:
    near = e.nearest(c.centre)
    if c.centre.distance(near) > c.radius:
        on = c.centre.plus(near.minus(c.centre).unit(), c.radius)
        return Gap(c.centre.distance(near) - c.radius, on, near)
    return min((edge_gap(q, e) for q in c.contour().edges), key=lambda g: g.mm)


def piece_gap(a: Circle | Edge, b: Circle | Edge) -> Gap:
    """Distance between two pieces of cuts; a round is all that it cuts out, so that a round in a round is 0 from it."""
    if isinstance(a, Circle) and isinstance(b, Circle):
        gap = _circles(a, b)
        apart = a.centre.distance(b.centre) >= a.radius + b.radius
        return gap if apart else Gap(0.0, gap.here, gap.there)
    if isinstance(a, Circle):
        assert not isinstance(b, Circle)
        return _circle_edge(a, b)
    if isinstance(b, Circle):
        gap = _circle_edge(b, a)
        return Gap(gap.mm, gap.there, gap.here)
    return edge_gap(a, b)


def cut_gap(a: Cut, b: Cut) -> Gap:
    """Distance between the edges of two cuts (circles or closed chains), also where one lies in the other."""
    if isinstance(a, Circle) and isinstance(b, Circle):
        return _circles(a, b)
    return min((piece_gap(p, q) for p in a.pieces for q in b.pieces), key=lambda g: g.mm)


def _circles(a: Circle, b: Circle) -> Gap:
    """Distance between the edges of two circles."""
    apart = b.centre.minus(a.centre)
    u = apart.unit() if apart.length() > 0 else Point(1.0, 0.0)
    outside = apart.length() - a.radius - b.radius
    if outside >= 0:
        return Gap(outside, a.centre.plus(u, a.radius), b.centre.plus(u, -b.radius))
    inside = abs(a.radius - b.radius) - apart.length()
    if inside >= 0:
        far = 1.0 if a.radius >= b.radius else -1.0
        return Gap(inside, a.centre.plus(u, far * a.radius), b.centre.plus(u, far * b.radius))
    # Circles within SAME_CARRIER_MM of coinciding have no meeting of their own: any point is one.
    meet = next(iter(circle_circle(a.centre, a.radius, b.centre, b.radius)), a.centre.plus(u, a.radius))
    return Gap(0.0, meet, meet)


# -- many at a time

#: How far chords may lie from the true arcs where pairs are only looked for; what is found is measured exactly.
_CHORD_MM: Final = 0.01


def too_near(outlines: Sequence[Contour], gap_mm: float) -> list[tuple[int, int]]:
    """Pairs, by their places, whose metal lies nearer than `gap_mm` (0 and more) on the true arcs, or in each other."""
    import shapely

    shapes = [polygon(o, chord_error_mm=_CHORD_MM, side=ChordSide.OUTSIDE) for o in outlines]
    # The shapes hold all of the metal: a pair that is too near is among those found.
    found = shapely.STRtree(shapes).query(shapes, predicate="dwithin", distance=gap_mm)
    pairs = sorted((int(a), int(b)) for a, b in found.T if a < b)
    return [
        (a, b)
        for a, b in pairs
        if shapes[a].contains(shapes[b])
        or shapes[b].contains(shapes[a])
        or cut_gap(outlines[a], outlines[b]).mm < gap_mm
    ]


#: Above this many pairs a tree pays for itself (measured).
_MOST_PAIRS_ASKED = 6000


def near_pairs(these: Sequence[Box], reach_mm: Sequence[float], those: Sequence[Box]) -> Iterator[tuple[int, int]]:
    """Every (i, j) for which box i of `these`, grown by its reach, meets box j of `those`."""
    if len(these) * len(those) <= _MOST_PAIRS_ASKED:
        return _each_pair(these, reach_mm, those)
    return _by_tree(these, reach_mm, those)


def _each_pair(these: Sequence[Box], reach_mm: Sequence[float], those: Sequence[Box]) -> Iterator[tuple[int, int]]:
    for i, ((x0, y0, x1, y1), reach) in enumerate(zip(these, reach_mm, strict=True)):
        x0, y0, x1, y1 = x0 - reach, y0 - reach, x1 + reach, y1 + reach
        for j, (a0, b0, a1, b1) in enumerate(those):
            if a0 <= x1 and x0 <= a1 and b0 <= y1 and y0 <= b1:
                yield i, j


def _by_tree(these: Sequence[Box], reach_mm: Sequence[float], those: Sequence[Box]) -> Iterator[tuple[int, int]]:
    import numpy as np
    import shapely

    reach = np.array(reach_mm, dtype=np.float64)
    x0, y0, x1, y1 = np.array(these, dtype=np.float64).T
    a0, b0, a1, b1 = np.array(those, dtype=np.float64).T
    tree = shapely.STRtree(np.asarray(shapely.box(a0, b0, a1, b1)))
    found = tree.query(shapely.box(x0 - reach, y0 - reach, x1 + reach, y1 + reach))
    order = np.lexsort((found[1], found[0]))
    yield from zip(found[0][order].tolist(), found[1][order].tolist(), strict=True)
