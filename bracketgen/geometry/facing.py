"""Where a closed chain runs close to itself: necks of metal, or narrow gaps.

Two edges face each other where the shortest way between them is square to both, so that it can't be made
shorter by a small step along the chain; or where they run nearly parallel. The two flanks of an ordinary
rounded corner do neither, however small its radius.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import Final

from bracketgen.geometry.contour import Contour, Edge
from bracketgen.geometry.gap import Gap, edge_gap, near_pairs
from bracketgen.geometry.plane import Point
from bracketgen.tolerances import SAME_POINT_MM

#: Flanks that close in on each other by less than 20 degrees count as parallel: cosine of 160 degrees.
#: Common practice, no source; blunter wedges are corners, sharper ones a thin strip of metal or gap.
_NEARLY_OPPOSITE: Final = -0.9397
#: Sine of the angle by which the shortest way may be off square: noise only.
_SQUARE: Final = 1e-6


class Side(Enum):
    """Which side of an anticlockwise chain the shortest way crosses."""

    INSIDE = "inside"
    OUTSIDE = "outside"


@dataclass(frozen=True, slots=True)
class Facing:
    """Two stretches of one chain that face each other: how far apart, where, and on which side."""

    gap: Gap
    side: Side


@dataclass(frozen=True, slots=True)
class _Found:
    """A facing, the two edges, and how nearly opposite they run there (-1 = exactly)."""

    facing: Facing
    edges: tuple[Edge, Edge]
    opposite: float

    def order(self) -> tuple[float, float, Point, Point]:
        gap = self.facing.gap
        return (round(gap.mm, 7), round(self.opposite, 7), gap.here, gap.there)


def facing_pairs(chain: Contour, within_mm: float) -> tuple[Facing, ...]:
    """Every place where the anticlockwise chain faces itself at `within_mm` or less, the narrowest first.

    Two stretches that run alongside each other are given once, and of several places within `within_mm` of
    each other only the narrowest is. Where the chain touches itself the gap is 0 and the side is INSIDE:
    there is no metal left.
    """
    edges = chain.edges
    boxes = [e.bounds() for e in edges]
    found: list[_Found] = []
    for i, j in near_pairs(boxes, [within_mm] * len(boxes), boxes):
        if j <= i + 1 or (i == 0 and j == len(edges) - 1):
            continue
        gap = edge_gap(edges[i], edges[j])
        judged = _judge(edges, i, j, gap) if gap.mm <= within_mm else None
        if judged:
            found.append(judged)
    return _one_a_place(found, within_mm)


def _judge(edges: tuple[Edge, ...], i: int, j: int, gap: Gap) -> _Found | None:
    pair = (edges[i], edges[j])
    if gap.mm <= SAME_POINT_MM:
        return _Found(Facing(gap, Side.INSIDE), pair, 1.0)
    way = gap.there.minus(gap.here).unit()
    opposite = edges[i].direction_at(gap.here).dot(edges[j].direction_at(gap.there))
    square = _shortest_at(edges, i, gap.here, way) and _shortest_at(edges, j, gap.there, way.scaled(-1.0))
    if not (square or opposite <= _NEARLY_OPPOSITE):
        return None
    left = max((d.cross(way) for d in _headings(edges, i, gap.here)), key=abs)
    return _Found(Facing(gap, Side.INSIDE if left > 0 else Side.OUTSIDE), pair, opposite)


def _headings(edges: tuple[Edge, ...], i: int, p: Point) -> list[Point]:
    """Directions of travel of edge `i`, and of its neighbour when `p` is their vertex."""
    found = [edges[i].direction_at(p)]
    if p.distance(edges[i].start) <= SAME_POINT_MM:
        found.append(edges[i - 1].direction_at(edges[i - 1].end))
    elif p.distance(edges[i].end) <= SAME_POINT_MM:
        after = edges[(i + 1) % len(edges)]
        found.append(after.direction_at(after.start))
    return found


def _shortest_at(edges: tuple[Edge, ...], i: int, p: Point, way: Point) -> bool:
    """Whether no small step along the chain from `p` leads nearer to where `way` points."""
    e = edges[i]
    back, ahead = e.direction_at(p).scaled(-1.0), e.direction_at(p)
    if p.distance(e.start) <= SAME_POINT_MM:
        back = edges[i - 1].direction_at(edges[i - 1].end).scaled(-1.0)
    elif p.distance(e.end) <= SAME_POINT_MM:
        after = edges[(i + 1) % len(edges)]
        ahead = after.direction_at(after.start)
    return way.dot(back) <= _SQUARE and way.dot(ahead) <= _SQUARE


def _one_a_place(found: list[_Found], apart_mm: float) -> tuple[Facing, ...]:
    kept: list[_Found] = []
    for f in sorted(found, key=_Found.order):
        if not any(_same_place(k, f.facing, apart_mm) for k in kept):
            kept.append(f)
    return tuple(k.facing for k in kept)


def _same_place(kept: _Found, other: Facing, apart_mm: float) -> bool:
    if kept.facing.side is not other.side:
        return False
    gap = other.gap
    if kept.facing.gap.here.distance(gap.here) <= apart_mm:
        return True
    return any(
        a.nearest(gap.here).distance(gap.here) <= SAME_POINT_MM
        and b.nearest(gap.there).distance(gap.there) <= SAME_POINT_MM
        for a, b in (kept.edges, kept.edges[::-1])
    )
