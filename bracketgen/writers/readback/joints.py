"""Ends that stand on the same place, or nearly."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from math import fsum, hypot

from bracketgen.writers.readback.edges import Piece, Point
from bracketgen.writers.readback.near_boxes import near_pairs

#: Ends nearer than this count as joined in a file from anyone: numbers written to three decimals are off by half
#: of it, and no machine shows it. Common practice, no source.
SAME_END_MM = 0.002


def joints(points: Sequence[Point], reach_mm: float = SAME_END_MM) -> list[int]:
    """For each point the number of its joint: points within reach of each other, also by way of others, share one."""
    parent = list(range(len(points)))

    def root(i: int) -> int:
        while parent[i] != i:
            parent[i] = parent[parent[i]]
            i = parent[i]
        return i

    for i, j in near_pairs([(*p, *p) for p in points], reach_mm):
        if hypot(points[i][0] - points[j][0], points[i][1] - points[j][1]) <= reach_mm:
            parent[root(i)] = root(j)
    return [root(i) for i in range(len(points))]


def middles(points: Sequence[Point], labels: Sequence[int]) -> dict[int, Point]:
    """Where each joint is: the place that most of its points share, else the middle of them."""
    members: dict[int, list[Point]] = {}
    for point, label in zip(points, labels, strict=True):
        members.setdefault(label, []).append(point)
    return {label: _middle(found) for label, found in members.items()}


def _middle(points: list[Point]) -> Point:
    (common, times), *_ = Counter(points).most_common(1)
    if 2 * times > len(points):
        return common
    return fsum(p[0] for p in points) / len(points), fsum(p[1] for p in points) / len(points)


def welded(pieces: Sequence[Piece]) -> list[Piece]:
    """The pieces with ends that count as joined moved onto the same numbers; pieces of no length are left out."""
    kept = [p for p in pieces if p.closes or fsum(e.length_mm for e in p.edges) > 2 * SAME_END_MM]
    loose = [p for p in kept if not p.closes]
    ends = [end for p in loose for end in (p.edges[0].start, p.edges[-1].end)]
    labels = joints(ends)
    places = middles(ends, labels)
    moved = iter([places[label] for label in labels])
    return [p if p.closes else between(p, next(moved), next(moved)) for p in kept]


def between(piece: Piece, start: Point, end: Point) -> Piece:
    """The piece with its first and last point moved a little; arcs keep their centre and radius."""
    edges = list(piece.edges)
    if edges[0].start != start:
        edges[0] = replace(edges[0], start=start)
    if edges[-1].end != end:
        edges[-1] = replace(edges[-1], end=end)
    return replace(piece, edges=tuple(edges))
