"""What the readings would be at given positions, and how each changes with every unknown."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from bracketgen.fit.locate.finding.network import Floats, Ints, Network, State
from bracketgen.fit.locate.finding.seen_edges import edge_shares
from bracketgen.fit.locate.finding.taken import Edge, Taken

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

    def add_point(self, rows: Ints, hole: Ints, at: Floats, slope: Floats) -> None:
        """A row changes by `slope` (s, rows, 3) for each mm that the point `at` (s, rows, 3) of a face moves.

        `at` is given in the frame of the hole's face and moves with the hole.
        """
        face = self.network.face_of[hole]
        local = np.einsum("srji,srj->sri", self.state.axes[:, face], slope)
        self.add_flat(rows, hole, local[..., :2])
        self._put(rows, self.network.origin_columns[face], slope)
        self._put(rows, self.network.turn_columns[face], crossed(at, local) / self.network.size_mm)

    def add_origin(self, rows: Ints, face: Ints, slope: Floats) -> None:
        """A row changes by `slope` for each mm that a face's origin moves."""
        self._put(rows, self.network.origin_columns[face], slope)

    def add_flat(self, rows: Ints, hole: Ints, slope: Floats) -> None:
        """A row changes by `slope` (s, rows, 2) for each mm that a hole moves in its face."""
        self._put(rows, self.network.hole_columns[hole], slope)

    def add_axis(self, rows: Ints, face: Ints, axis: int, slope: Floats) -> None:
        """A row changes by `slope` (s, rows, 3) with an axis (0, 1, 2) of a face."""
        local = np.einsum("srji,srj->sri", self.state.axes[:, face], slope)
        unit = np.zeros(3)
        unit[axis] = 1.0
        self._put(rows, self.network.turn_columns[face], crossed(unit, local) / self.network.size_mm)

    def _put(self, rows: Ints, columns: Ints, values: Floats) -> None:
        self.table[:, rows[:, None], columns] += values


def predicted(network: Network, taken: Taken, state: State) -> tuple[Floats, Floats]:
    """Values of all rows (s, rows), mm or degrees, and their derivatives (s, rows, unknowns)."""
    slopes = Slopes(network, state, len(taken.measured))
    values: list[Floats] = []
    start = 0
    parts: list[tuple[int, Callable[[Taken, Slopes, Ints], Floats]]] = [
        (len(taken.distances.a), _distances),
        (len(taken.steps.hole), _steps),
        (len(taken.squares.hole), _squares),
        (len(taken.tilts.a), _tilts),
        (len(taken.levels.a), _levels),
    ]
    for count, part in parts:
        if count:
            made = part(taken, slopes, np.arange(start, start + _rows_of(part, taken, count), dtype=np.intp))
            values.append(made)
            start += made.shape[1]
    every = np.concatenate(values, axis=1) if values else np.zeros((len(state.uv), 0))
    return every, slopes.table[..., :-1]


def _rows_of(part: Callable[[Taken, Slopes, Ints], Floats], taken: Taken, count: int) -> int:
    return count + int(np.count_nonzero(taken.tilts.sense)) if part is _tilts else count


def seen_at(taken: Taken, state: State, hole: Ints, share: Floats | float = 0.0) -> Floats:
    """A hole's seen middle in its face's frame, (s, rows, 3); `share` -1 to 1 along a worn hole's centre line."""
    flat = state.uv[:, hole] + taken.seen.middle[hole] + np.asarray(share)[..., None] * taken.seen.half[hole]
    paint = np.broadcast_to(taken.seen.paint[hole], flat.shape[:2])
    return np.concatenate([flat, paint[..., None]], axis=-1)


def in_site(network: Network, state: State, hole: Ints, at: Floats) -> Floats:
    """A point given in the frame of a hole's face, in the site."""
    face = network.face_of[hole]
    placed: Floats = state.origin[:, face] + np.einsum("srij,srj->sri", state.axes[:, face], at)
    return placed


def _distances(taken: Taken, slopes: Slopes, rows: Ints) -> Floats:
    network, state, d = slopes.network, slopes.state, taken.distances
    share_a: Floats | float = 0.0
    share_b: Floats | float = 0.0
    worn = (taken.seen.half[d.a].any(axis=1) | taken.seen.half[d.b].any(axis=1)) & (d.edge != Edge.MIDDLES)
    if worn.any():
        share_a, share_b = edge_shares(network, taken, state)
    at_a, at_b = seen_at(taken, state, d.a, share_a), seen_at(taken, state, d.b, share_b)
    way = in_site(network, state, d.b, at_b) - in_site(network, state, d.a, at_a)
    length = np.linalg.norm(way, axis=-1)
    unit = way / (length + _TINY)[..., None]
    slopes.add_point(rows, d.b, at_b, unit)
    slopes.add_point(rows, d.a, at_a, -unit)
    measured: Floats = length + d.added
    return measured


def _steps(taken: Taken, slopes: Slopes, rows: Ints) -> Floats:
    network, state, s = slopes.network, slopes.state, taken.steps
    at = seen_at(taken, state, s.hole)
    way = in_site(network, state, s.hole, at) - state.origin[:, s.face]
    normal = state.normals[:, s.face]
    slopes.add_point(rows, s.hole, at, normal)
    slopes.add_origin(rows, s.face, -normal)
    slopes.add_axis(rows, s.face, 2, way)
    height: Floats = np.einsum("sri,sri->sr", way, normal)
    # The straight edge lies on the paint of its face.
    over_paint: Floats = np.subtract(height, taken.seen.paint[network.first_of[s.face]])
    return over_paint
    return height


def _squares(taken: Taken, slopes: Slopes, rows: Ints) -> Floats:
    state, q = slopes.state, taken.squares
    hole, a, b = (state.uv[:, h] + taken.seen.middle[h] for h in (q.hole, q.a, q.b))
    line, way = b - a, hole - a
    length = np.linalg.norm(line, axis=-1, keepdims=True) + _TINY
    left = np.stack([-line[..., 1], line[..., 0]], axis=-1) / length
    square: Floats = np.einsum("sri,sri->sr", way, left)
    along = np.einsum("sri,sri->sr", way, line)[..., None] / length**2
    slopes.add_flat(rows, q.hole, left)
    slopes.add_flat(rows, q.a, (along - 1.0) * left)
    slopes.add_flat(rows, q.b, -along * left)
    return square


def _tilts(taken: Taken, slopes: Slopes, rows: Ints) -> Floats:
    """Plain tilts give one row; parallel faces two, one for each axis of the first face."""
    counts = np.where(taken.tilts.sense != 0, 2, 1)
    of = np.repeat(np.arange(len(counts)), counts)
    axis = np.arange(len(rows)) - np.repeat(np.cumsum(counts) - counts, counts)
    double = counts[of] == 2
    values: Floats = np.zeros((len(slopes.state.uv), len(rows)))
    plain = np.flatnonzero(~double)
    values[:, plain] = _plain_tilts(taken, slopes, rows[plain], of[plain])
    for side in (0, 1):
        which = np.flatnonzero(double & (axis == side))
        if len(which):
            values[:, which] = _parallels(taken, slopes, rows[which], of[which], side)
    return values


def _plain_tilts(taken: Taken, slopes: Slopes, rows: Ints, which: Ints) -> Floats:
    state, a, b = slopes.state, taken.tilts.a[which], taken.tilts.b[which]
    na, nb = state.normals[:, a], state.normals[:, b]
    cosine = np.einsum("sri,sri->sr", na, nb)
    sine = np.linalg.norm(crossed(na, nb), axis=-1)
    for one, other, face in ((na, nb, a), (nb, na, b)):
        slope = -(other - cosine[..., None] * one) / (sine + _TINY)[..., None] * _DEGREES
        slopes.add_axis(rows, face, 2, slope)
    angle: Floats = np.arctan2(sine, cosine) * _DEGREES
    return angle


def _parallels(taken: Taken, slopes: Slopes, rows: Ints, which: Ints, axis: int) -> Floats:
    """How far one face's normal leans from the other's, toward one axis of the first, degrees."""
    state, a, b = slopes.state, taken.tilts.a[which], taken.tilts.b[which]
    sense = taken.tilts.sense[which][:, None]
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


def _levels(taken: Taken, slopes: Slopes, rows: Ints) -> Floats:
    network, state, v = slopes.network, slopes.state, taken.levels
    at_a, at_b = seen_at(taken, state, v.a), seen_at(taken, state, v.b)
    way = in_site(network, state, v.b, at_b) - in_site(network, state, v.a, at_a)
    length = np.linalg.norm(way, axis=-1, keepdims=True) + _TINY
    unit = way / length
    sine = np.clip(unit @ taken.up, -1.0, 1.0)
    cosine = np.sqrt(1.0 - sine**2)[..., None]
    slope = (taken.up - sine[..., None] * unit) / (length * (cosine + _TINY)) * _DEGREES
    slopes.add_point(rows, v.b, at_b, slope)
    slopes.add_point(rows, v.a, at_a, -slope)
    rise: Floats = np.arcsin(sine) * _DEGREES
    return rise
