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
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Truths = npt.NDArray[np.bool_]

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
class Room:
    """What n bolts are forgiven, mm: in each of b builds play (b, n) to every side across the axis, `slot` (n,)
    more to both sides along the first local direction, `pull` (n,) to both sides along the axis."""

    play: Floats
    slot: Floats
    pull: Floats

    def of(self, rows: npt.NDArray[np.intp]) -> Room:
        """The room of some builds only."""
        return Room(self.play[rows], self.slot, self.pull)


@dataclass(frozen=True, slots=True, eq=False)
class Verdict:
    """`fits` of each build; how many stayed undecided (counted as misses); `misfit` (b, n, 3) at the end, local, mm."""

    fits: Truths
    undecided: int
    misfit: Floats


@dataclass(frozen=True, slots=True, eq=False)
class _Scaled:
    """The question in units in which every bolt's room is about 1."""

    scale: Floats
    basis: Floats
    play: Floats
    slot: Floats
    pull: Floats
    touch: Floats


def bolt_up(start: Floats, reach: Floats, room: Room) -> Verdict:
    """Which of b builds bolt up.

    `start` (b, n, 3): misfits in local axes (slot, across, axis), mm; `reach` (3 n, m): how m moves change them.
    """
    b, n, _ = start.shape
    task = _scaled(reach, room)
    y = start.reshape(b, -1) * task.scale
    y -= (y @ task.basis) @ task.basis.T
    fits = np.zeros(b, dtype=np.bool_)
    end = y.copy()
    rows = np.flatnonzero((room.play >= 0).all(axis=1))
    y, play = y[rows], task.play[rows]
    for _step in range(_MOST_STEPS):
        gap = _gap(y, play, task)
        inside = (np.abs(gap.reshape(len(y), -1)) <= task.touch).all(axis=1)
        done = inside | _parted(y, gap, play, task)
        fits[rows[inside]] = True
        end[rows[done]] = y[done]
        rows, y, play, gap = rows[~done], y[~done], play[~done], gap[~done]
        if not len(rows):
            break
        y = _stepped(y, play, gap, task)
    end[rows] = y
    return Verdict(fits, len(rows), (end / task.scale).reshape(b, n, 3))


def _scaled(reach: Floats, room: Room) -> _Scaled:
    n = len(room.slot)
    across = 1.0 / np.maximum(room.play.mean(axis=0) if len(room.play) else np.ones(n), _LEAST_SCALE_MM)
    along = 1.0 / np.maximum(room.pull, _LEAST_SCALE_MM)
    scale = np.stack([across, across, along], axis=1).reshape(-1)
    u, s, _ = np.linalg.svd(reach * scale[:, None], full_matrices=False)
    basis = u[:, s > 1e-9 * s[0]]
    return _Scaled(scale, basis, room.play * across, room.slot * across, room.pull * along, TOUCH_MM * scale)


def _outside(y: Floats, task: _Scaled) -> tuple[Floats, Floats, Floats]:
    """Of each bolt: how far past its slot's straight, across it, and both together."""
    at = y.reshape(len(y), -1, 3)
    over = at[..., 0] - np.clip(at[..., 0], -task.slot, task.slot)
    return over, at[..., 1], np.hypot(over, at[..., 1])


def _gap(y: Floats, play: Floats, task: _Scaled) -> Floats:
    """How far each bolt lies outside its room, (b, n, 3)."""
    over, across, far = _outside(y, task)
    share = np.maximum(1.0 - play / np.maximum(far, _NOTHING), 0.0)
    axial = y[:, 2::3]
    return np.stack([over * share, across * share, axial - np.clip(axial, -task.pull, task.pull)], axis=-1)


def _slope(y: Floats, play: Floats, task: _Scaled) -> Floats:
    """How that distance changes with the place, (b, n, 3, 3)."""
    over, across, far = _outside(y, task)
    far = np.maximum(far, _NOTHING)
    share = np.maximum(1.0 - play / far, 0.0)
    turned: Floats = np.where(share > 0.0, 1.0 - share, 0.0)
    c, s = over / far, across / far
    slope = np.zeros((*over.shape, 3, 3))
    slope[..., 0, 0] = share * (over != 0.0) + turned * c * c
    slope[..., 0, 1] = slope[..., 1, 0] = turned * c * s
    slope[..., 1, 1] = share + turned * s * s
    slope[..., 2, 2] = np.abs(y[:, 2::3]) > task.pull
    return slope


def _parted(y: Floats, gap: Floats, play: Floats, task: _Scaled) -> Truths:
    """Whether a direction square to every move shows that the moves never reach the room."""
    flat = gap.reshape(len(y), -1)
    way = flat - (flat @ task.basis) @ task.basis.T
    v = way.reshape(gap.shape)
    most = play * np.hypot(v[..., 0], v[..., 1]) + task.slot * np.abs(v[..., 0]) + task.pull * np.abs(v[..., 2])
    reached: Truths = np.einsum("bk,bk->b", way, y) > most.sum(axis=1)
    return reached


def _stepped(y: Floats, play: Floats, gap: Floats, task: _Scaled) -> Floats:
    """A damped Newton step of the squared gap, the best of a few lengths."""
    moves = task.basis.shape[1]
    legs = task.basis.reshape(-1, 3, moves)
    pull = gap.reshape(len(y), -1) @ task.basis
    pressed = np.matmul(_slope(y, play, task), legs).reshape(len(y), -1, moves)
    hill = np.matmul(task.basis.T, pressed)
    damp = 1e-3 * np.linalg.norm(pull, axis=1) + 1e-6
    hill += damp[:, None, None] * np.eye(moves)
    step = -np.linalg.solve(hill, pull[..., None])[..., 0] @ task.basis.T
    best, least = y, np.full(len(y), np.inf)
    for share in _SHARES:
        tried = y + share * step
        left = _squared_gap(tried, play, task)
        better = left < least
        best = np.where(better[:, None], tried, best)
        least = np.where(better, left, least)
    return best


def _squared_gap(y: Floats, play: Floats, task: _Scaled) -> Floats:
    _, _, far = _outside(y, task)
    across = np.maximum(far - play, 0.0)
    along = np.maximum(np.abs(y[:, 2::3]) - task.pull, 0.0)
    total: Floats = np.einsum("bn,bn->b", across, across) + np.einsum("bn,bn->b", along, along)
    return total
