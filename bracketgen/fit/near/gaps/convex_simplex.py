"""The point of a corner, stretch, triangle or tetrahedron that lies nearest to the origin; many at a time."""

from __future__ import annotations

import numpy as np

from bracketgen.fit.near.gaps.support import Bools, Floats, crosses, dots

_EDGES = np.array([(0, 1), (0, 2), (0, 3), (1, 2), (1, 3), (2, 3)])
_FACES = np.array([(0, 1, 2), (0, 1, 3), (0, 2, 3), (1, 2, 3)])
#: Squared sine of the sharpest corner that still counts as a triangle's.
_FLAT = 1e-22
_TINY = 1e-300


def nearest_to_origin(w: Floats) -> tuple[Floats, Bools]:
    """Shares (n, 4) of the four corners `w` (n, 4, 3) in the nearest point, and whether the origin is inside.

    Corners may repeat. A corner that is not needed gets the share 0.
    """
    n = len(w)
    rows = np.arange(n)
    on_edge, edge_share = _on_edges(w)
    on_face, face_shares = _on_faces(w)
    size = np.concatenate((on_edge, on_face), axis=1)
    best = size.argmin(axis=1)
    shares = np.zeros((n, 4))
    edge = best < 6
    r, b = rows[edge], best[edge]
    t = edge_share[r, b]
    shares[r, _EDGES[b, 0]] = 1.0 - t
    shares[r, _EDGES[b, 1]] = t
    r, b = rows[~edge], best[~edge] - 6
    for k in range(3):
        shares[r, _FACES[b, k]] = face_shares[k][r, b]
    inside, whole = _inside(w)
    shares[inside] = whole[inside]
    return shares, inside


def _on_edges(w: Floats) -> tuple[Floats, Floats]:
    a, b = w[:, _EDGES[:, 0]], w[:, _EDGES[:, 1]]
    d = b - a
    t = np.clip(-dots(a, d) / np.maximum(dots(d, d), _TINY), 0.0, 1.0)
    p = a + t[..., None] * d
    return dots(p, p), t


def _on_faces(w: Floats) -> tuple[Floats, tuple[Floats, Floats, Floats]]:
    """Squared distance to the inner part of each face; infinite where the foot is outside of it."""
    a = w[:, _FACES[:, 0]]
    e, f = w[:, _FACES[:, 1]] - a, w[:, _FACES[:, 2]] - a
    ee, ef, ff, ae, af = dots(e, e), dots(e, f), dots(f, f), -dots(a, e), -dots(a, f)
    det = ee * ff - ef * ef
    usable = det > _FLAT * ee * ff
    det = np.where(usable, det, 1.0)
    s, t = (ae * ff - af * ef) / det, (af * ee - ae * ef) / det
    within = usable & (s > 0) & (t > 0) & (s + t < 1)
    p = a + s[..., None] * e + t[..., None] * f
    return np.where(within, dots(p, p), np.inf), (1.0 - s - t, s, t)


def _inside(w: Floats) -> tuple[Bools, Floats]:
    """Whether each tetrahedron holds the origin, and the origin's shares."""
    a = w[:, 0]
    e, f, g = w[:, 1] - a, w[:, 2] - a, w[:, 3] - a
    fg = crosses(f, g)
    volume = dots(e, fg)
    usable = volume * volume > _FLAT * dots(e, e) * dots(fg, fg)
    volume = np.where(usable, volume, 1.0)
    b = -dots(a, fg) / volume
    c = -dots(a, crosses(g, e)) / volume
    d = -dots(a, crosses(e, f)) / volume
    shares = np.stack((1.0 - b - c - d, b, c, d), axis=1)
    return usable & (shares > 0).all(axis=1), shares
