"""Between which points of two worn holes a calliper measures.

A worn hole is a round hole dragged along a line: everything within its radius of a centre line. The near edges are
those of the two nearest points of the centre lines, the far edges those of the two farthest.
"""

from __future__ import annotations

import numpy as np

from bracketgen.fit.locate.finding.network import Floats, Network, State
from bracketgen.fit.locate.finding.taken import Edge, Taken

_TINY = 1e-12


def edge_shares(network: Network, taken: Taken, state: State) -> tuple[Floats, Floats]:
    """For every distance the points on both centre lines, as shares -1 to 1 from the middle, (s, rows) each."""
    d = taken.distances
    middles, halves = [], []
    for hole in (d.a, d.b):
        face = network.face_of[hole]
        axes = state.axes[:, face, :, :2]
        flat = state.uv[:, hole] + taken.seen.middle[hole]
        paint = taken.seen.paint[hole][:, None] * state.axes[:, face][..., 2]
        middles.append(state.origin[:, face] + np.einsum("srij,srj->sri", axes, flat) + paint)
        halves.append(np.einsum("srij,rj->sri", axes, taken.seen.half[hole]))
    shares = np.stack([_near(middles, halves), _far(middles, halves), _same_side(middles, halves)])
    chosen = np.zeros_like(shares[0])
    for number, edge in enumerate((Edge.NEAR, Edge.FAR, Edge.SAME_SIDE)):
        rows = d.edge == edge
        chosen[:, rows] = shares[number][:, rows]
    return chosen[..., 0], chosen[..., 1]


def _dot(a: Floats, b: Floats) -> Floats:
    product: Floats = np.einsum("...i,...i->...", a, b)
    return product


def _on_line(point: Floats, middle: Floats, half: Floats) -> Floats:
    """Share of the point of a centre line nearest to a point."""
    share: Floats = np.clip(_dot(point - middle, half) / (_dot(half, half) + _TINY), -1.0, 1.0)
    return share


def _near(middles: list[Floats], halves: list[Floats]) -> Floats:
    """Nearest points: from each end to the other line, or where both lines pass each other in space."""
    (ma, mb), (ha, hb) = middles, halves
    pairs = []
    for end in (-1.0, 1.0):
        sign = np.full(ma.shape[:2], end)
        pairs.append(np.stack([sign, _on_line(ma + end * ha, mb, hb)], axis=-1))
        pairs.append(np.stack([_on_line(mb + end * hb, ma, ha), sign], axis=-1))
    aa, ab, bb = _dot(ha, ha), _dot(ha, hb), _dot(hb, hb)
    way = mb - ma
    gauge = aa * bb - ab * ab
    apart = gauge > 1e-9 * (aa * bb + _TINY)
    across = np.where(apart, (bb * _dot(way, ha) - ab * _dot(way, hb)) / np.where(apart, gauge, 1.0), 0.0)
    share_a = np.clip(across, -1.0, 1.0)
    share_b = _on_line(ma + share_a[..., None] * ha, mb, hb)
    pairs.append(np.stack([share_a, share_b], axis=-1))
    return _best(pairs, middles, halves, 1.0)


def _far(middles: list[Floats], halves: list[Floats]) -> Floats:
    shape = middles[0].shape[:2]
    ends = [np.stack([np.full(shape, s), np.full(shape, t)], axis=-1) for s in (-1.0, 1.0) for t in (-1.0, 1.0)]
    return _best(ends, middles, halves, -1.0)


def _same_side(middles: list[Floats], halves: list[Floats]) -> Floats:
    """On both holes the end that lies to the side of the first hole."""
    way = middles[1] - middles[0]
    shares: Floats = np.stack([-np.sign(_dot(h, way)) for h in halves], axis=-1)
    return shares


def _best(pairs: list[Floats], middles: list[Floats], halves: list[Floats], sign: float) -> Floats:
    """The pair with the shortest way (sign 1) or the longest (sign -1)."""
    every = np.stack(pairs)
    a = middles[0] + every[..., :1] * halves[0]
    b = middles[1] + every[..., 1:] * halves[1]
    which = np.argmin(sign * np.linalg.norm(b - a, axis=-1), axis=0)
    best: Floats = np.take_along_axis(every, which[None, ..., None], axis=0)[0]
    return best
