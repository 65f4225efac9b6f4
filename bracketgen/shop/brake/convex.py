"""Convex pieces of tool outlines and of metal, and how deep two sets of them are in each other."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from bracketgen.geometry.arrays import Floats, Indices
from bracketgen.geometry.plane import Point
from bracketgen.geometry.prism import triangles

Shape = list[tuple[float, float]]

#: Corners nearer to a straight line than this are no corners.
_STRAIGHT = 1e-9


def convex_pieces(outline: Sequence[Point]) -> list[Shape]:
    """A ring without crossings as convex polygons, anticlockwise, that share no area. Raises GeometryFault."""
    made = [list(t) for t in triangles([outline])]
    joined = True
    while joined:
        joined = _join_one(made, outline)
    return [[(outline[i].x, outline[i].y) for i in piece] for piece in made]


def _join_one(pieces: list[list[int]], points: Sequence[Point]) -> bool:
    """Two neighbours become one where that stays convex; whether there were such two."""
    sides = {(p[k - 1], p[k]): n for n, p in enumerate(pieces) for k in range(len(p))}
    for (a, b), n in sides.items():
        m = sides.get((b, a))
        if m is None:
            continue
        joined = _around(pieces[n], b)[:-1] + _around(pieces[m], a)[:-1]
        if _is_convex([points[i] for i in joined]):
            pieces[min(n, m)] = joined
            del pieces[max(n, m)]
            return True
    return False


def _around(piece: list[int], first: int) -> list[int]:
    at = piece.index(first)
    return piece[at:] + piece[:at]


def _is_convex(ring: Sequence[Point]) -> bool:
    sides = [ring[i].minus(ring[i - 1]) for i in range(len(ring))]
    return all(sides[i - 1].cross(sides[i]) >= -_STRAIGHT for i in range(len(sides)))


def hull(points: Sequence[tuple[float, float]]) -> Shape:
    """The convex hull, anticlockwise, to a nanometre; points on one line give its two ends."""
    ordered = sorted({(round(x, 6), round(y, 6)) for x, y in points})
    if len(ordered) < 3:
        return ordered
    return _half(ordered)[:-1] + _half(ordered[::-1])[:-1]


def _half(ordered: Sequence[tuple[float, float]]) -> Shape:
    chain: Shape = []
    for p in ordered:
        while len(chain) > 1 and _left(chain[-2], chain[-1], p) <= 0.0:
            chain.pop()
        chain.append(p)
    return chain


def _left(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def packed(shapes: Sequence[Shape]) -> Floats:
    """Polygons of different numbers of corners in one array (polygon, corner, 2): last corners are repeated."""
    most = max(map(len, shapes), default=3)
    return np.array([[*s, *[s[-1]] * (most - len(s))] for s in shapes], dtype=np.float64).reshape(-1, most, 2)


def apart_mm(a: Floats, b: Floats) -> Floats:
    """How far convex polygons are apart, pair by pair: negative = how deep in each other.

    `a` is (pair, corner, 2), `b` likewise, both anticlockwise. Where two corners face each other the figure is
    smaller than the true gap, never larger.
    """
    return np.maximum(_beyond(a, b), _beyond(b, a))


def _beyond(a: Floats, b: Floats) -> Floats:
    """The largest distance of all of b outside of one of a's sides."""
    sides = np.roll(a, -1, axis=1) - a
    length = np.hypot(sides[..., 0], sides[..., 1])
    real = length > _STRAIGHT
    safe = np.where(real, length, 1.0)
    nx, ny = sides[..., 1] / safe, -sides[..., 0] / safe
    level = nx * a[..., 0] + ny * a[..., 1]
    out = nx[:, :, None] * b[:, None, :, 0] + ny[:, :, None] * b[:, None, :, 1] - level[:, :, None]
    least: Floats = np.where(real, out.min(axis=2), -np.inf).max(axis=1)
    return least


def clashes(a: Floats, b: Floats, margin: Floats) -> tuple[Indices, Indices, Indices, Floats]:
    """Step, piece of a, piece of b and gap of every pair nearer than its margin (mm; negative = may overlap so far).

    `a` is (step, piece, corner, 2); `b` too, with one step if it stands still; `margin` is (piece of a, piece of b),
    -inf for pairs that are not asked for.
    """
    low_a, high_a = a.min(axis=2)[:, :, None], a.max(axis=2)[:, :, None]
    low_b, high_b = b.min(axis=2)[:, None], b.max(axis=2)[:, None]
    m = np.maximum(margin, 0.0)[None, :, :]
    near = np.isfinite(margin)[None] & (low_a[..., 0] - high_b[..., 0] < m) & (low_b[..., 0] - high_a[..., 0] < m)
    near &= (low_a[..., 1] - high_b[..., 1] < m) & (low_b[..., 1] - high_a[..., 1] < m)
    s, i, j = np.nonzero(near)
    if len(s) == 0:
        return s, i, j, np.zeros(0)
    gap = apart_mm(a[s, i], b[s if len(b) > 1 else 0, j])
    bad = gap < margin[i, j]
    return s[bad], i[bad], j[bad], gap[bad]
