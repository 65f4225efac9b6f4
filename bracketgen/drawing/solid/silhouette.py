"""The outline of solids as they fall on the paper, for things that are only hinted at."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from bracketgen.geometry.line import Box
from bracketgen.geometry.point import Point

Ring = tuple[Point, ...]


def belt(points: Sequence[Point]) -> Ring:
    """The corners of the tightest convex ring around points, anticlockwise (Andrew's monotone chain)."""
    ordered = sorted(set(points))
    if len(ordered) < 3:
        return tuple(ordered)
    return tuple(_half(ordered)[:-1] + _half(ordered[::-1])[:-1])


def _half(ordered: Sequence[Point]) -> list[Point]:
    chain: list[Point] = []
    for p in ordered:
        while len(chain) > 1 and chain[-1].minus(chain[-2]).cross(p.minus(chain[-1])) <= 0.0:
            chain.pop()
        chain.append(p)
    return chain


def inside(ring: Ring, p: Point, by_mm: float) -> bool:
    """Whether a point lies in a convex ring, at least `by_mm` from its edge."""
    return len(ring) > 2 and all(
        b.minus(a).cross(p.minus(a)) > by_mm * a.distance(b) for a, b in zip(ring, (*ring[1:], ring[0]), strict=True)
    )


def cropped(ring: Ring, box: Box) -> Ring:
    """What of a convex ring lies in an upright box."""
    kept = list(ring)
    for axis, limit, sign in ((0, box[0], 1.0), (0, box[2], -1.0), (1, box[1], 1.0), (1, box[3], -1.0)):
        made: list[Point] = []
        for a, b in zip(kept, kept[1:] + kept[:1], strict=True):
            h, k = sign * (a[axis] - limit), sign * (b[axis] - limit)
            if h >= 0.0:
                made.append(a)
            if (h > 0.0 > k) or (h < 0.0 < k):
                made.append(a.plus(b.minus(a), h / (h - k)))
        kept = made
    return tuple(kept)


def outer_dashes(rings: Sequence[Ring], box: Box, dash_mm: float, gap_mm: float) -> Iterator[tuple[Point, Point]]:
    """Dashes along the common outline of convex rings that overlap, within the box and off its edge."""
    seen = [cropped(r, box) for r in rings]
    for i, ring in enumerate(seen):
        others = [r for k, r in enumerate(seen) if k != i]
        for a, b in _dashes(ring, dash_mm, gap_mm):
            m = Point((a.x + b.x) / 2, (a.y + b.y) / 2)
            rim = min(m.x - box[0], box[2] - m.x, m.y - box[1], box[3] - m.y) < 0.05
            if not rim and not any(inside(r, m, 0.05) for r in others):
                yield a, b


def _dashes(ring: Ring, dash_mm: float, gap_mm: float) -> Iterator[tuple[Point, Point]]:
    """Short straight pieces that together are dashes running round the ring, bent at its corners."""
    step = dash_mm + gap_mm
    gone = 0.0
    for a, b in zip(ring, (*ring[1:], *ring[:1]), strict=True):
        length, way = a.distance(b), b.minus(a)
        for n in range(math.floor(gone / step), math.floor((gone + length) / step) + 1):
            start, end = max(n * step - gone, 0.0), min(n * step + dash_mm - gone, length)
            if end > start:
                yield a.plus(way, start / length), a.plus(way, end / length)
        gone += length
