"""Convex pieces in space, many at a time, and how far each reaches in a direction.

A piece is the hull of at most eight corners, or of an arc drawn straight along its axis (a full turn: a drum), with a
round of `radius` added all around. `slack` of an arc says how deep its hull reaches behind the true arc.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np
import numpy.typing as npt

from bracketgen.geometry.frame import Frame

Floats = npt.NDArray[np.float64]
Indices = npt.NDArray[np.intp]
Bools = npt.NDArray[np.bool_]

MOST_CORNERS = 8
_TINY = 1e-300


def dots(a: Floats, b: Floats) -> Floats:
    """Scalar products of rows of three."""
    return a[..., 0] * b[..., 0] + a[..., 1] * b[..., 1] + a[..., 2] * b[..., 2]


def crosses(a: Floats, b: Floats) -> Floats:
    """Vector products of rows of three."""
    out = np.empty(np.broadcast_shapes(a.shape, b.shape))
    out[..., 0] = a[..., 1] * b[..., 2] - a[..., 2] * b[..., 1]
    out[..., 1] = a[..., 2] * b[..., 0] - a[..., 0] * b[..., 2]
    out[..., 2] = a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0]
    return out


def lengths(a: Floats) -> Floats:
    """Lengths of rows of three."""
    size: Floats = np.sqrt(dots(a, a))
    return size


@dataclass(slots=True)
class Pieces:
    """One row a piece, mm.

    `corners` (n, 8, 3) repeats a corner where there are fewer. Arcs (`arc`): `foot` is the centre at the low end,
    `reach` goes from the low end to the high end, `out` and `side` are unit directions to the arc's middle and square
    to it, `rho` the arc's radius, `half_rad` half of its angle. Everything lies within `girth` of the stretch from
    `mid - stretch` to `mid + stretch`; some point of the true core lies within `near` of `mid` (below 0: a ball of
    that size around `mid` belongs to the core). `owner` is the number of the solid, `step` that of its move.
    """

    corners: Floats
    radius: Floats
    arc: Bools
    foot: Floats
    reach: Floats
    out: Floats
    side: Floats
    rho: Floats
    half_rad: Floats
    slack: Floats
    mid: Floats
    stretch: Floats
    girth: Floats
    near: Floats
    owner: Indices
    step: Indices

    def __len__(self) -> int:
        return len(self.radius)

    def rows(self, chosen: npt.NDArray[np.intp | np.bool_]) -> Pieces:
        """Some of the pieces."""
        return Pieces(*(getattr(self, f.name)[chosen] for f in fields(self)))

    @staticmethod
    def joined(sets: Sequence[Pieces]) -> Pieces:
        """All pieces of the sets, in order."""
        return Pieces(*(np.concatenate([getattr(s, f.name) for s in sets]) for f in fields(Pieces)))

    def swept(self, at: Indices, step: Indices, frames: Sequence[Frame], frame: Indices) -> Pieces:
        """Piece `at[n]` after the move `frames[frame[n]]` (where the outer frame goes), marked as step `step[n]`."""
        turns = np.array([(f.x, f.y, f.z) for f in frames]).reshape(-1, 3, 3)
        shift = np.array([f.origin for f in frames]).reshape(-1, 3)[frame]
        turned = bool((turns != np.eye(3)).any())
        new = self.rows(at)
        if turned:
            turn = turns[frame]
            new.corners = np.matmul(new.corners, turn)
            for name in ("foot", "reach", "out", "side", "mid", "stretch"):
                setattr(new, name, np.matmul(getattr(new, name)[:, None], turn)[:, 0])
        new.corners = new.corners + shift[:, None]
        new.foot, new.mid, new.step = new.foot + shift, new.mid + shift, step
        return new


def farthest(p: Pieces, at: Indices, way: Floats) -> Floats:
    """The core point (without the round) of piece `at[n]` that lies farthest along `way[n]` (any length)."""
    arc = p.arc[at]
    if not arc.any():
        return _farthest_corner(p, at, way)
    if arc.all():
        return _farthest_on_arc(p, at, way)
    found = np.empty((len(at), 3))
    flat = ~arc
    found[flat] = _farthest_corner(p, at[flat], way[flat])
    found[arc] = _farthest_on_arc(p, at[arc], way[arc])
    return found


def _farthest_corner(p: Pieces, at: Indices, way: Floats) -> Floats:
    corners = p.corners[at]
    best = np.matmul(corners, way[:, :, None])[:, :, 0].argmax(axis=1)
    found: Floats = corners[np.arange(len(at)), best]
    return found


def _farthest_on_arc(p: Pieces, at: Indices, way: Floats) -> Floats:
    out, side, reach, half = p.out[at], p.side[at], p.reach[at], p.half_rad[at]
    u, v = dots(way, out), dots(way, side)
    size = np.sqrt(u * u + v * v)
    cos_end = np.cos(half)
    on_arc = (u >= size * cos_end) & (size > _TINY)
    size = np.where(size > _TINY, size, 1.0)
    cos = np.where(on_arc, u / size, cos_end)
    sin = np.where(on_arc, v / size, np.where(v < 0, -1.0, 1.0) * np.sin(half))
    rho = p.rho[at]
    top = (dots(way, reach) > 0).astype(np.float64)
    return p.foot[at] + (rho * cos)[:, None] * out + (rho * sin)[:, None] * side + top[:, None] * reach


def depth_behind_arc(p: Pieces, at: Indices, points: Floats) -> Floats:
    """How far points of the pieces' hulls lie behind the true arc, mm; 0 for pieces that are true themselves."""
    behind = np.zeros(len(at))
    sheet = p.slack[at] > 0
    if sheet.any():
        rows = at[sheet]
        off = points[sheet] - p.foot[rows]
        off = np.hypot(dots(off, p.out[rows]), dots(off, p.side[rows]))
        behind[sheet] = np.clip(p.rho[rows] - off, 0.0, p.slack[rows])
    return behind
