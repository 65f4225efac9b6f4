"""Quick bounds on the distance of two pieces, and the pairs of round pieces whose distance has a closed form."""

from __future__ import annotations

import math

import numpy as np

from bracketgen.fit.near.gaps.support import Bools, Floats, Indices, Pieces, dots, lengths

#: Sine of the angle up to which two axes count as parallel; over 1 m that is 1e-9 mm.
_PARALLEL = 1e-12
_TINY = 1e-300


def ball_bounds(p: Pieces, i: Indices, q: Pieces, j: Indices) -> tuple[Floats, Floats]:
    """Distance from below (by the balls around the pieces) and from above, rounds taken off, mm."""
    apart = lengths(p.mid[i] - q.mid[j])
    size_p, size_q = lengths(p.stretch) + p.girth, lengths(q.stretch) + q.girth
    below = apart - size_p[i] - size_q[j]
    above = np.maximum(apart + p.near[i] + q.near[j], 0.0) - p.radius[i] - q.radius[j]
    return below, above


def stretch_bound(p: Pieces, i: Indices, q: Pieces, j: Indices) -> Floats:
    """Distance from below, by the stretches that the pieces lie around, mm.

    Nearest points of two stretches: Ericson, Real-Time Collision Detection (2005), section 5.1.9.
    """
    d1, d2 = 2 * p.stretch[i], 2 * q.stretch[j]
    r = (p.mid[i] - p.stretch[i]) - (q.mid[j] - q.stretch[j])
    a, e, f = dots(d1, d1), dots(d2, d2), dots(d2, r)
    c, b = dots(d1, r), dots(d1, d2)
    det = a * e - b * b
    s = np.where(det > 1e-12 * a * e, np.clip((b * f - c * e) / np.where(det > 0, det, 1.0), 0.0, 1.0), 0.5)
    t = np.clip((b * s + f) / np.maximum(e, _TINY), 0.0, 1.0)
    s = np.clip((b * t - c) / np.maximum(a, _TINY), 0.0, 1.0)
    apart: Floats = lengths(r + s[:, None] * d1 - t[:, None] * d2)
    # Stretches within a millionth of parallel are taken as parallel; the distance must still be one from below.
    spare = np.where(det > 1e-12 * a * e, 0.0, 4e-6 * np.sqrt(np.minimum(a, e)))
    return apart - spare - p.girth[i] - q.girth[j]


def axis_of(p: Pieces, at: Indices) -> Floats:
    """The direction of drums and of arcs drawn straight, or of a stretch with two ends (not unit)."""
    straight: Floats = p.corners[at, 1] - p.corners[at, 0]
    return np.where(p.arc[at][:, None], p.reach[at], straight)


def is_round(p: Pieces) -> Bools:
    """Drums and capsules."""
    full: Bools = (p.arc & (p.half_rad == math.pi)) | (~p.arc & (p.radius > 0))
    return full


def round_beside_arc(p: Pieces, i: Indices, q: Pieces, j: Indices) -> Bools:
    """Pairs of an arc sheet (p) with a drum or capsule (q) that stands parallel to it."""
    fits: Bools = (p.slack[i] > 0) & is_round(q)[j]
    at = np.flatnonzero(fits)
    a, b = p.reach[i[at]], axis_of(q, j[at])
    size = lengths(a) * lengths(b)
    fits[at] = (size > 0) & (lengths(np.cross(a, b)) <= _PARALLEL * size)
    return fits


def round_arc_distance(p: Pieces, i: Indices, q: Pieces, j: Indices) -> tuple[Floats, Floats, Floats]:
    """Core distance of pairs that `round_beside_arc` chose, and the two points, mm: exact.

    Seen along the axis it is the distance of a disc from an arc; along the axis that of two stretches.
    """
    axis = p.reach[i]
    thick = lengths(axis)
    unit = axis / thick[:, None]
    out, side, rho, half = p.out[i], p.side[i], p.rho[i], p.half_rad[i]
    foot = np.where(q.arc[j][:, None], q.foot[j], q.corners[j, 0])
    disc = np.where(q.arc[j], q.rho[j], 0.0)
    off = foot - p.foot[i]
    x, y = dots(off, out), dots(off, side)
    angle = np.clip(np.arctan2(y, x), -half, half)
    on_x, on_y = rho * np.cos(angle), rho * np.sin(angle)
    flat = np.hypot(on_x - x, on_y - y)
    near = np.minimum(flat, disc) / np.maximum(flat, _TINY)
    z0 = dots(off, unit)
    z1 = z0 + dots(axis_of(q, j), unit)
    low, high = np.minimum(z0, z1), np.maximum(z0, z1)
    # Where the heights overlap any of them will do: the middle of what they share.
    z_q = np.clip((np.clip(low, 0.0, thick) + np.clip(high, 0.0, thick)) / 2, low, high)
    z_p = np.clip(z_q, 0.0, thick)

    def placed(u: Floats, v: Floats, z: Floats) -> Floats:
        return p.foot[i] + u[:, None] * out + v[:, None] * side + z[:, None] * unit

    here = placed(on_x, on_y, z_p)
    there = placed(x + near * (on_x - x), y + near * (on_y - y), z_q)
    return np.hypot(np.maximum(flat - disc, 0.0), z_p - z_q), here, there
