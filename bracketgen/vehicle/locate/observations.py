"""Readings as plain arrays, kind by kind, and what each would be at given positions.

All readings are taken on what is seen: over the paint of a face, to the middle or the edges of a worn hole. The holes'
places mean the bare metal and the hole's true centre; the difference stands in these arrays.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

import numpy as np

from bracketgen.geometry.arrays import Floats, Indices
from bracketgen.vehicle.locate.network import Network, State


class MeasuredOver(IntEnum):
    """Which points of two holes a distance runs between."""

    MIDDLES = 0
    NEAR = 1
    FAR = 2
    SAME_SIDE = 3


@dataclass(frozen=True, slots=True, eq=False)
class Rims:
    """Holes as a person sees them, one entry a hole: what to add to the true centre, in the face's x and y, mm.

    `middle` leads to the middle of a worn hole, `half` from there to the end of its long diameter's centre line,
    `paint` is how far the seen rim stands out of the metal.
    """

    middle: Floats
    half: Floats
    paint: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Distances:
    """Hole to hole: `edge` says between which points, `added` what the reading holds beyond that, mm."""

    a: Indices
    b: Indices
    edge: Indices
    added: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Steps:
    """How far a hole stands out of a face."""

    hole: Indices
    face: Indices


@dataclass(frozen=True, slots=True, eq=False)
class Squares:
    """How far a hole lies to the left of the line from `a` to `b`, on one face."""

    hole: Indices
    a: Indices
    b: Indices


@dataclass(frozen=True, slots=True, eq=False)
class Tilts:
    """Between the normals of two faces. A reading of 0 or 180 degrees speaks for two directions at once.

    `sense` is 0 for a plain tilt, 1 for parallel faces that look the same way, -1 for opposite ways.
    """

    a: Indices
    b: Indices
    sense: Indices


@dataclass(frozen=True, slots=True, eq=False)
class Levels:
    """How far the line from `a` to `b` rises."""

    a: Indices
    b: Indices


@dataclass(frozen=True, slots=True, eq=False)
class Observations:
    """All readings: by kind, and in the order of the rows that they give (distances first, levels last).

    `measured` and `sigma` in mm or degrees, `reading` the index of the reading that a row belongs to.
    """

    seen: Rims
    up: Floats
    distances: Distances
    steps: Steps
    squares: Squares
    tilts: Tilts
    levels: Levels
    measured: Floats
    sigma: Floats
    reading: Indices


def indices(values: list[int]) -> Indices:
    """Indices as an array, also when there are none."""
    return np.array(values, dtype=np.intp)


# -- what the readings would be, and how each changes with every unknown

_DEGREES = 180.0 / np.pi
#: Keeps divisions by a vanishing length or sine finite; far below anything that can be measured.
_TINY = 1e-12


def crossed(a: Floats, b: Floats) -> Floats:
    """Cross product along the last axis; numpy's own spends most of its time on checking."""
    a0, a1, a2 = a[..., 0], a[..., 1], a[..., 2]
    b0, b1, b2 = b[..., 0], b[..., 1], b[..., 2]
    return np.stack([a1 * b2 - a2 * b1, a2 * b0 - a0 * b2, a0 * b1 - a1 * b0], axis=-1)


class Slopes:
    """The table of derivatives (s, rows, unknowns) while it is filled; its last column collects what is held."""

    def __init__(self, network: Network, state: State, rows: int) -> None:
        self.network = network
        self.state = state
        self.table: Floats = np.zeros((len(state.uv), rows, network.unknowns + 1))

    def add_point(self, rows: Indices, hole: Indices, at: Floats, slope: Floats) -> None:
        """A row changes by `slope` (s, rows, 3) for each mm that the point `at` (s, rows, 3) of a face moves.

        `at` is given in the frame of the hole's face and moves with the hole.
        """
        face = self.network.face_of[hole]
        local = np.einsum("srji,srj->sri", self.state.axes[:, face], slope)
        self.add_flat(rows, hole, local[..., :2])
        self._put(rows, self.network.origin_columns[face], slope)
        self._put(rows, self.network.turn_columns[face], crossed(at, local) / self.network.size_mm)

    def add_origin(self, rows: Indices, face: Indices, slope: Floats) -> None:
        """A row changes by `slope` for each mm that a face's origin moves."""
        self._put(rows, self.network.origin_columns[face], slope)

    def add_flat(self, rows: Indices, hole: Indices, slope: Floats) -> None:
        """A row changes by `slope` (s, rows, 2) for each mm that a hole moves in its face."""
        self._put(rows, self.network.hole_columns[hole], slope)

    def add_axis(self, rows: Indices, face: Indices, axis: int, slope: Floats) -> None:
        """A row changes by `slope` (s, rows, 3) with an axis (0, 1, 2) of a face."""
        local = np.einsum("srji,srj->sri", self.state.axes[:, face], slope)
        unit = np.zeros(3)
        unit[axis] = 1.0
        self._put(rows, self.network.turn_columns[face], crossed(unit, local) / self.network.size_mm)

    def _put(self, rows: Indices, columns: Indices, values: Floats) -> None:
        self.table[:, rows[:, None], columns] += values


def predicted(network: Network, readings: Observations, state: State) -> tuple[Floats, Floats]:
    """Values of all rows (s, rows), mm or degrees, and their derivatives (s, rows, unknowns)."""
    slopes = Slopes(network, state, len(readings.measured))
    values = [np.zeros((len(state.uv), 0))]
    start = 0
    tilts = len(readings.tilts.a) + int(np.count_nonzero(readings.tilts.sense))
    for count, part in (
        (len(readings.distances.a), _distances),
        (len(readings.steps.hole), _steps),
        (len(readings.squares.hole), _squares),
        (tilts, _tilts),
        (len(readings.levels.a), _levels),
    ):
        if count:
            values.append(part(readings, slopes, np.arange(start, start + count, dtype=np.intp)))
            start += count
    return np.concatenate(values, axis=1), slopes.table[..., :-1]


def seen_at(readings: Observations, state: State, hole: Indices, share: Floats | float = 0.0) -> Floats:
    """A hole's seen middle in its face's frame, (s, rows, 3); `share` -1 to 1 along a worn hole's centre line."""
    flat = state.uv[:, hole] + readings.seen.middle[hole] + np.asarray(share)[..., None] * readings.seen.half[hole]
    paint = np.broadcast_to(readings.seen.paint[hole], flat.shape[:2])
    return np.concatenate([flat, paint[..., None]], axis=-1)


def in_site(network: Network, state: State, hole: Indices, at: Floats) -> Floats:
    """A point given in the frame of a hole's face, in the site."""
    face = network.face_of[hole]
    placed: Floats = state.origin[:, face] + np.einsum("srij,srj->sri", state.axes[:, face], at)
    return placed


def _distances(readings: Observations, slopes: Slopes, rows: Indices) -> Floats:
    network, state, d = slopes.network, slopes.state, readings.distances
    share_a: Floats | float = 0.0
    share_b: Floats | float = 0.0
    worn = (readings.seen.half[d.a].any(axis=1) | readings.seen.half[d.b].any(axis=1)) & (
        d.edge != MeasuredOver.MIDDLES
    )
    if worn.any():
        share_a, share_b = edge_shares(network, readings, state)
    at_a, at_b = seen_at(readings, state, d.a, share_a), seen_at(readings, state, d.b, share_b)
    way = in_site(network, state, d.b, at_b) - in_site(network, state, d.a, at_a)
    length = np.linalg.norm(way, axis=-1)
    unit = way / (length + _TINY)[..., None]
    slopes.add_point(rows, d.b, at_b, unit)
    slopes.add_point(rows, d.a, at_a, -unit)
    measured: Floats = length + d.added
    return measured


def _steps(readings: Observations, slopes: Slopes, rows: Indices) -> Floats:
    network, state, s = slopes.network, slopes.state, readings.steps
    at = seen_at(readings, state, s.hole)
    way = in_site(network, state, s.hole, at) - state.origin[:, s.face]
    normal = state.normals[:, s.face]
    slopes.add_point(rows, s.hole, at, normal)
    slopes.add_origin(rows, s.face, -normal)
    slopes.add_axis(rows, s.face, 2, way)
    height: Floats = np.einsum("sri,sri->sr", way, normal)
    # The straight edge lies on the paint of its face.
    over_paint: Floats = np.subtract(height, readings.seen.paint[network.first_of[s.face]])
    return over_paint


def _squares(readings: Observations, slopes: Slopes, rows: Indices) -> Floats:
    state, q = slopes.state, readings.squares
    hole, a, b = (state.uv[:, h] + readings.seen.middle[h] for h in (q.hole, q.a, q.b))
    line, way = b - a, hole - a
    length = np.linalg.norm(line, axis=-1, keepdims=True) + _TINY
    left = np.stack([-line[..., 1], line[..., 0]], axis=-1) / length
    square: Floats = np.einsum("sri,sri->sr", way, left)
    along = np.einsum("sri,sri->sr", way, line)[..., None] / length**2
    slopes.add_flat(rows, q.hole, left)
    slopes.add_flat(rows, q.a, (along - 1.0) * left)
    slopes.add_flat(rows, q.b, -along * left)
    return square


def _tilts(readings: Observations, slopes: Slopes, rows: Indices) -> Floats:
    """Plain tilts give one row; parallel faces two, one for each axis of the first face."""
    counts = np.where(readings.tilts.sense != 0, 2, 1)
    of = np.repeat(np.arange(len(counts)), counts)
    axis = np.arange(len(rows)) - np.repeat(np.cumsum(counts) - counts, counts)
    double = counts[of] == 2
    values: Floats = np.zeros((len(slopes.state.uv), len(rows)))
    plain = np.flatnonzero(~double)
    values[:, plain] = _plain_tilts(readings, slopes, rows[plain], of[plain])
    for side in (0, 1):
        which = np.flatnonzero(double & (axis == side))
        if len(which):
            values[:, which] = _parallels(readings, slopes, rows[which], of[which], side)
    return values


def _plain_tilts(readings: Observations, slopes: Slopes, rows: Indices, which: Indices) -> Floats:
    state, a, b = slopes.state, readings.tilts.a[which], readings.tilts.b[which]
    na, nb = state.normals[:, a], state.normals[:, b]
    cosine = np.einsum("sri,sri->sr", na, nb)
    sine = np.linalg.norm(crossed(na, nb), axis=-1)
    for one, other, face in ((na, nb, a), (nb, na, b)):
        slope = -(other - cosine[..., None] * one) / (sine + _TINY)[..., None] * _DEGREES
        slopes.add_axis(rows, face, 2, slope)
    angle: Floats = np.arctan2(sine, cosine) * _DEGREES
    return angle


def _parallels(readings: Observations, slopes: Slopes, rows: Indices, which: Indices, axis: int) -> Floats:
    """How far one face's normal leans from the other's, toward one axis of the first, degrees."""
    state, a, b = slopes.state, readings.tilts.a[which], readings.tilts.b[which]
    sense = readings.tilts.sense[which][:, None]
    nb, side = state.normals[:, b], state.axes[:, a][..., axis]
    other = sense * nb
    cosine = np.einsum("sri,sri->sr", state.normals[:, a], other)
    sine = np.linalg.norm(crossed(state.normals[:, a], other), axis=-1)
    angle = np.arctan2(sine, cosine)
    # The ratio is 1 for parallel faces, where these rows are used in the end.
    ratio = np.where(sine > 1e-9, angle / np.maximum(sine, 1e-9), 1.0)[..., None] * _DEGREES
    slopes.add_axis(rows, b, 2, sense * side * ratio)
    slopes.add_axis(rows, a, axis, other * ratio)
    lean: Floats = np.einsum("sri,sri->sr", side, other) * ratio[..., 0]
    return lean


def _levels(readings: Observations, slopes: Slopes, rows: Indices) -> Floats:
    network, state, v = slopes.network, slopes.state, readings.levels
    at_a, at_b = seen_at(readings, state, v.a), seen_at(readings, state, v.b)
    way = in_site(network, state, v.b, at_b) - in_site(network, state, v.a, at_a)
    length = np.linalg.norm(way, axis=-1, keepdims=True) + _TINY
    unit = way / length
    sine = np.clip(unit @ readings.up, -1.0, 1.0)
    cosine = np.sqrt(1.0 - sine**2)[..., None]
    slope = (readings.up - sine[..., None] * unit) / (length * (cosine + _TINY)) * _DEGREES
    slopes.add_point(rows, v.b, at_b, slope)
    slopes.add_point(rows, v.a, at_a, -slope)
    rise: Floats = np.arcsin(sine) * _DEGREES
    return rise


# -- between which points of two worn holes a calliper measures
#
# A worn hole is a round hole dragged along a line: everything within its radius of a centre line. The near edges are
# those of the two nearest points of the centre lines, the far edges those of the two farthest.


def edge_shares(network: Network, readings: Observations, state: State) -> tuple[Floats, Floats]:
    """For every distance the points on both centre lines, as shares -1 to 1 from the middle, (s, rows) each."""
    d = readings.distances
    middles, halves = [], []
    for hole in (d.a, d.b):
        face = network.face_of[hole]
        axes = state.axes[:, face, :, :2]
        flat = state.uv[:, hole] + readings.seen.middle[hole]
        paint = readings.seen.paint[hole][:, None] * state.axes[:, face][..., 2]
        middles.append(state.origin[:, face] + np.einsum("srij,srj->sri", axes, flat) + paint)
        halves.append(np.einsum("srij,rj->sri", axes, readings.seen.half[hole]))
    shares = np.stack([_near(middles, halves), _far(middles, halves), _same_side(middles, halves)])
    chosen = np.zeros_like(shares[0])
    for number, edge in enumerate((MeasuredOver.NEAR, MeasuredOver.FAR, MeasuredOver.SAME_SIDE)):
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
