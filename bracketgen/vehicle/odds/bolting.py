"""Can every bolt go in at once? Asked of many builds together.

A build is a rigid part held against mating holes. What it can be moved is three shifts and three small turns, so
the misfits of its n bolts are `start + reach @ move`, a flat set of at most 6 dimensions in 3 n. What the holes and
the tightening forgive is a convex set: at each bolt a disc (stretched along a slot) across, a distance along the
axis. The build bolts up when both sets meet. Least squares of the distance between them are driven down by Newton
steps; every build ends with a proof, either a place where all bolts are in, or a direction that parts the two sets.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from bracketgen.geometry.arrays import Bools, Floats

#: A bolt that misses by less goes in.
TOUCH_MM: Final = 1e-3
#: Keeps the scale of a bolt without play finite.
_LEAST_SCALE_MM: Final = 0.05
_MOST_STEPS: Final = 60
#: Keeps a direction finite where there is none.
_NOTHING: Final = 1e-300
#: Shortened steps that are tried beside the full one.
_SHARES: Final = (1.0, 0.5, 0.25, 0.1)


@dataclass(frozen=True, slots=True, eq=False)
class BoltPlay:
    """What n bolts are forgiven in b builds, mm.

    `play` (b, n) to every side across the axis; `slot` (n,) more to both sides along the first local direction, after
    the part has turned by `spin` (b, n, radians) about the bolt; `pull` (n,) to both sides along the axis.
    """

    play: Floats
    slot: Floats
    pull: Floats
    spin: Floats

    def only(self, rows: Bools) -> BoltPlay:
        """The room of some builds."""
        return BoltPlay(self.play[rows], self.slot, self.pull, self.spin[rows])


@dataclass(frozen=True, slots=True, eq=False)
class BoltedUp:
    """Which of b builds fit, and for which that is proven; those undecided count as misses.

    `moves` (b, m) are those made in the end, `misfit` (b, n, 3) what they lead to, local, mm.
    """

    fits: Bools
    decided: Bools
    moves: Floats
    misfit: Floats


@dataclass(frozen=True, slots=True, eq=False)
class _Scaling:
    """What is the same for all builds, in units in which every bolt's room is about 1."""

    scale: Floats
    slot: Floats
    pull: Floats
    touch: Floats


@dataclass(frozen=True, slots=True, eq=False)
class _OpenBuilds:
    """Builds that are not decided: misfits (b, 3 n), play, cosine and sine of the slots' turns (b, n)."""

    y: Floats
    play: Floats
    cos: Floats
    sin: Floats

    def only(self, rows: Bools) -> _OpenBuilds:
        return _OpenBuilds(self.y[rows], self.play[rows], self.cos[rows], self.sin[rows])

    def at(self, y: Floats) -> _OpenBuilds:
        return _OpenBuilds(y, self.play, self.cos, self.sin)


def bolt_up(
    start: Floats, reach: Floats, room: BoltPlay, short_mm: float = 0.0, most_steps: int = _MOST_STEPS
) -> BoltedUp:
    """Which of b builds bolt up.

    `start` (b, n, 3): misfits in local axes (slot, across, axis), mm; `reach` (3 n, m): how m moves change them.
    A build is given up when it is proven that its bolts would need more than `short_mm` of room on top.
    """
    b, n, _ = start.shape
    task, first = _task(start, room)
    u, s, _ = np.linalg.svd(task.scale[:, None] * reach, full_matrices=False)
    basis = u[:, s > 1e-9 * s[0]]
    end = first.y - (first.y @ basis) @ basis.T
    fits, decided = np.zeros(b, dtype=np.bool_), np.ones(b, dtype=np.bool_)
    possible: Bools = np.logical_and.reduce(room.play >= 0, axis=1)
    rows, tries = np.flatnonzero(possible), first.at(end).only(possible)
    for _ in range(most_steps):
        if not len(rows):
            break
        gap = _gap(tries, task)
        inside = _inside(gap, task)
        done = inside | _parted(tries, gap, basis, task, short_mm)
        fits[rows[inside]] = True
        end[rows[done]] = tries.y[done]
        rows, tries, gap = rows[~done], tries.only(~done), gap[~done]
        if len(rows):
            tries = tries.at(tries.y + _step(tries, gap, basis, task) @ basis.T)
    end[rows] = tries.y
    decided[rows] = False
    moves = (end - first.y) @ np.linalg.pinv(task.scale[:, None] * reach, rcond=1e-9).T
    return BoltedUp(fits, decided, moves, (end / task.scale).reshape(b, n, 3))


def eased(start: Floats, reach: Floats, room: BoltPlay, steps: int) -> Floats:
    """Moves (b, m) of so many steps that bring every build nearer to fitting; `reach` (b, 3 n, m) for each build."""
    task, tries = _task(start, room)
    scaled = task.scale[:, None] * reach
    moves = np.zeros((len(start), reach.shape[2]))
    for _ in range(steps):
        step = _step(tries, _gap(tries, task), scaled, task)
        moves += step
        tries = tries.at(tries.y + np.matmul(scaled, step[..., None])[..., 0])
    return moves


def goes_in(misfit: Floats, room: BoltPlay) -> Bools:
    """Which builds fit as they lie, misfits (b, n, 3) in local axes, mm."""
    task, tries = _task(misfit, room)
    possible: Bools = np.logical_and.reduce(room.play >= 0, axis=1)
    return possible & _inside(_gap(tries, task), task)


def _inside(gap: Floats, task: _Scaling) -> Bools:
    touching: Bools = np.abs(gap.reshape(len(gap), len(task.touch))) <= task.touch
    return np.asarray(np.logical_and.reduce(touching, axis=1))


def _task(start: Floats, room: BoltPlay) -> tuple[_Scaling, _OpenBuilds]:
    b, n, _ = start.shape
    across = 1.0 / np.maximum(room.play.mean(axis=0) if b else np.ones(n), _LEAST_SCALE_MM)
    along = 1.0 / np.maximum(room.pull, _LEAST_SCALE_MM)
    scale = np.stack([across, across, along], axis=1).reshape(-1)
    tries = _OpenBuilds(start.reshape(b, 3 * n) * scale, room.play * across, np.cos(room.spin), np.sin(room.spin))
    return _Scaling(scale, room.slot * across, room.pull * along, TOUCH_MM * scale), tries


def _outside(tries: _OpenBuilds, task: _Scaling) -> tuple[Floats, Floats, Floats]:
    """Of each bolt: how far past its slot's straight, across the slot, and both together."""
    x, y = tries.y[:, 0::3], tries.y[:, 1::3]
    along = tries.cos * x + tries.sin * y
    across = tries.cos * y - tries.sin * x
    over = along - np.clip(along, -task.slot, task.slot)
    return over, across, np.hypot(over, across)


def _gap(tries: _OpenBuilds, task: _Scaling) -> Floats:
    """How far each bolt lies outside its room, (b, n, 3)."""
    over, across, far = _outside(tries, task)
    share = np.maximum(1.0 - tries.play / np.maximum(far, _NOTHING), 0.0)
    over, across, axial = over * share, across * share, tries.y[:, 2::3]
    x, y = tries.cos * over - tries.sin * across, tries.sin * over + tries.cos * across
    return np.stack([x, y, axial - np.clip(axial, -task.pull, task.pull)], axis=-1)


def _slope(tries: _OpenBuilds, task: _Scaling) -> Floats:
    """How that distance changes with the place, (b, n, 3, 3)."""
    over, across, far = _outside(tries, task)
    far = np.maximum(far, _NOTHING)
    share = np.maximum(1.0 - tries.play / far, 0.0)
    turned: Floats = np.where(share > 0.0, 1.0 - share, 0.0)
    # The way out of the room, and along the straight of the slot; both in the axes in which the slot hasn't turned.
    out_x = (tries.cos * over - tries.sin * across) / far
    out_y = (tries.sin * over + tries.cos * across) / far
    straight = share * (over == 0.0)
    slope = np.zeros((*over.shape, 3, 3))
    slope[..., 0, 0] = share - straight * tries.cos**2 + turned * out_x * out_x
    slope[..., 0, 1] = turned * out_x * out_y - straight * tries.cos * tries.sin
    slope[..., 1, 0] = slope[..., 0, 1]
    slope[..., 1, 1] = share - straight * tries.sin**2 + turned * out_y * out_y
    slope[..., 2, 2] = np.abs(tries.y[:, 2::3]) > task.pull
    return slope


def _parted(tries: _OpenBuilds, gap: Floats, basis: Floats, task: _Scaling, short_mm: float) -> Bools:
    """Whether a direction square to every move shows that the moves never reach the room, made larger by `short_mm`."""
    flat = gap.reshape(tries.y.shape)
    way = flat - (flat @ basis) @ basis.T
    x, y, z = way[:, 0::3], way[:, 1::3], way[:, 2::3]
    across, axial = np.hypot(x, y), np.abs(z)
    most = tries.play * across + task.slot * np.abs(tries.cos * x + tries.sin * y) + task.pull * axial
    if short_mm:
        most = most + short_mm * (task.scale[0::3] * across + task.scale[2::3] * axial)
    parted: Bools = np.einsum("bk,bk->b", way, tries.y) > most.sum(axis=1)
    return parted


def _step(tries: _OpenBuilds, gap: Floats, basis: Floats, task: _Scaling) -> Floats:
    """The moves (b, m) of a damped Newton step of the squared gap, the best of a few lengths.

    `basis` (3 n, m) for all builds or (b, 3 n, m) for each.
    """
    b, n, _ = gap.shape
    moves = basis.shape[-1]
    legs = basis.reshape(*basis.shape[:-2], n, 3, moves)
    back = np.swapaxes(basis, -1, -2)
    pull = np.matmul(back, gap.reshape(b, 3 * n, 1))
    hill = np.matmul(back, np.matmul(_slope(tries, task), legs).reshape(b, 3 * n, moves))
    damp = 1e-3 * np.linalg.norm(pull, axis=1) + 1e-6
    hill += damp[..., None] * np.eye(moves)
    step: Floats = -np.linalg.solve(hill, pull).astype(np.float64)
    change = np.matmul(basis, step)[..., 0]
    best, least = np.zeros(b), np.full(b, np.inf)
    for share in _SHARES:
        left = _squared_gap(tries.at(tries.y + share * change), task)
        best, least = np.where(left < least, share, best), np.minimum(left, least)
    return best[:, None] * step[..., 0]


def _squared_gap(tries: _OpenBuilds, task: _Scaling) -> Floats:
    _, _, far = _outside(tries, task)
    across = np.maximum(far - tries.play, 0.0)
    along = np.maximum(np.abs(tries.y[:, 2::3]) - task.pull, 0.0)
    total: Floats = np.einsum("bn,bn->b", across, across) + np.einsum("bn,bn->b", along, along)
    return total
