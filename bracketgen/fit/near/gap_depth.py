"""How two solids that meet can be parted by a straight move."""

from __future__ import annotations

import math

import numpy as np

from bracketgen.fit.near.support import Floats, Pieces, crosses, farthest, lengths

_BALL = 200
_ROUNDS = 40
_AROUND = 8
_SHRINK = 0.6


def widths(p: Pieces, q: Pieces, ways: Floats) -> Floats:
    """How far q has to be moved along each of the unit `ways` until a plane square to it parts the hulls, mm."""
    return _reach(p, ways) + _reach(q, -ways)


def _reach(p: Pieces, ways: Floats) -> Floats:
    n, k = len(p), len(ways)
    way = np.repeat(ways, n, axis=0)
    at = np.tile(np.arange(n), k)
    reach = (farthest(p, at, way) * way).sum(axis=1) + p.radius[at]
    most: Floats = reach.reshape(k, n).max(axis=1)
    return most


def way_out(p: Pieces, q: Pieces) -> Floats:
    """The shortest move of q found that parts the hulls of all of p and all of q; for convex solids the depth.

    Its length is never less than the depth: a plane square to it parts the two afterwards. Directions tried: the
    solids' own axes, square to two of them, 200 spread over the ball; then around the best one, ever closer.
    """
    ways = _candidates(p, q)
    out = widths(p, q, ways)
    best, least = ways[int(out.argmin())], float(out.min())
    turn = 2.0 / math.sqrt(_BALL)
    angles = 2 * np.pi * np.arange(_AROUND) / _AROUND
    for _ in range(_ROUNDS):
        across = np.cross(best, np.eye(3)[int(np.abs(best).argmin())])
        across /= np.linalg.norm(across)
        ring = np.cos(angles)[:, None] * across + np.sin(angles)[:, None] * np.cross(best, across)
        ways = best + turn * ring
        ways /= lengths(ways)[:, None]
        out = widths(p, q, ways)
        if out.min() < least:
            best, least = ways[int(out.argmin())], float(out.min())
        else:
            turn *= _SHRINK
    shortest: Floats = best * max(least, 0.0)
    return shortest


def _candidates(p: Pieces, q: Pieces) -> Floats:
    mine, other = _axes(p), _axes(q)
    square = crosses(mine[:, None], other[None, :]).reshape(-1, 3)
    apart = (q.mid.mean(axis=0) - p.mid.mean(axis=0))[None]
    ways = np.concatenate((mine, other, square, apart))
    size = lengths(ways)
    ways = ways[size > 1e-9] / size[size > 1e-9][:, None]
    return np.concatenate((ways, -ways, _ball()))


def _axes(p: Pieces) -> Floats:
    edges = [p.corners[~p.arc, k] - p.corners[~p.arc, 0] for k in (1, 2, 4)]
    found = np.concatenate((*edges, crosses(edges[0], edges[1]), p.reach[p.arc], p.out[p.arc], p.side[p.arc]))
    size = lengths(found)
    found = found[size > 1e-9] / size[size > 1e-9][:, None]
    # Opposite directions are one axis.
    lead = np.sign(found[np.arange(len(found)), np.abs(found).argmax(axis=1)])
    axes: Floats = np.unique(np.round(found * lead[:, None], 9), axis=0)
    return axes


def _ball() -> Floats:
    """Directions spread evenly (points on a spiral, each a golden angle further)."""
    k = np.arange(_BALL) + 0.5
    z, turn = 1 - 2 * k / _BALL, np.pi * (1 + math.sqrt(5)) * k
    flat = np.sqrt(1 - z * z)
    return np.stack((flat * np.cos(turn), flat * np.sin(turn), z), axis=1)
