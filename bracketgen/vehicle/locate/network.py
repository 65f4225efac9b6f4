"""Holes in faces as unknown numbers: which there are, and how a step in them moves the holes.

A face is a frame: its first hole is its origin, its second hole lies on its +x, z stands out of it. The first face's
frame is the site's. Where the first face has one hole only, x runs to the shadow of the next face's first hole.
Unknown turns are counted in mm at the distance `size_mm`, so that all unknowns are lengths of one order.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import count

import numpy as np
import numpy.typing as npt

from bracketgen.geometry.arrays import Floats, Indices


@dataclass(frozen=True, slots=True, eq=False)
class Network:
    """Names, membership and columns of the unknowns; a column equal to `unknowns` stands for 'held'."""

    holes: tuple[str, ...]
    faces: tuple[str, ...]
    face_of: Indices
    first_of: Indices
    hole_columns: Indices
    origin_columns: Indices
    turn_columns: Indices
    unknowns: int
    size_mm: float

    def holes_on(self, face: int) -> list[int]:
        """Indices of a face's holes, in order."""
        return [h for h, f in enumerate(self.face_of) if f == face]


@dataclass(frozen=True, slots=True, eq=False)
class State:
    """Several sets of positions at once: the first index counts them.

    `uv` (s, holes, 2) in the faces, `origin` (s, faces, 3) and `axes` (s, faces, 3, 3; columns x, y, z) in the site.
    """

    uv: Floats
    origin: Floats
    axes: Floats

    def picked(self, which: Indices | Sequence[int] | slice | npt.NDArray[np.bool_]) -> State:
        """Some of the sets."""
        return State(self.uv[which], self.origin[which], self.axes[which])

    def points(self, network: Network) -> Floats:
        """Centres of all holes in the site, (s, holes, 3)."""
        f = network.face_of
        x, y = self.axes[:, f][..., 0], self.axes[:, f][..., 1]
        placed: Floats = self.origin[:, f] + x * self.uv[..., :1] + y * self.uv[..., 1:]
        return placed

    @property
    def normals(self) -> Floats:
        """Directions out of the faces, (s, faces, 3)."""
        normals: Floats = self.axes[..., 2]
        return normals


def joined(states: Sequence[State]) -> State:
    """All sets of several states in one."""
    return State(
        np.concatenate([s.uv for s in states]),
        np.concatenate([s.origin for s in states]),
        np.concatenate([s.axes for s in states]),
    )


def network_of(faces: dict[str, Sequence[str]], size_mm: float) -> Network:
    """The unknowns of faces with their holes (names without the face's)."""
    names = [f"{face}.{hole}" for face, holes in faces.items() for hole in holes]
    face_of = [f for f, holes in enumerate(faces.values()) for _ in holes]
    counts = [len(holes) for holes in faces.values()]
    alone = counts[0] == 1
    hole_columns, origin_columns, turn_columns = [], [], []
    numbers = count()

    def columns(*free: bool) -> list[int]:
        return [next(numbers) if one else -1 for one in free]

    for f, holes_on in enumerate(counts):
        hole_columns += [columns(n > 0, n > 1) for n in range(holes_on)]
        origin_columns.append(columns(f > 0, f > 0 and not (alone and f == 1), f > 0))
        turn_columns.append(columns(f > 0, f > 0, f > 0 and holes_on > 1))
    unknowns = next(numbers)
    first_of = np.cumsum([0, *counts[:-1]])
    arrays = [np.array(c, dtype=np.intp) for c in (hole_columns, origin_columns, turn_columns)]
    hole, origin, turn = (np.where(a < 0, unknowns, a) for a in arrays)
    return Network(
        tuple(names), tuple(faces), np.array(face_of, dtype=np.intp), first_of, hole, origin, turn, unknowns, size_mm
    )


def moved(network: Network, state: State, step: Floats) -> State:
    """The state after a step (s, unknowns)."""
    padded = np.concatenate([step, np.zeros((len(step), 1))], axis=1)
    turn = padded[:, network.turn_columns] / network.size_mm
    return State(
        state.uv + padded[:, network.hole_columns],
        state.origin + padded[:, network.origin_columns],
        state.axes @ turned(turn),
    )


def turned(turn: Floats) -> Floats:
    """Rotation matrices (..., 3, 3) of turn vectors (..., 3) in radians (formula of Rodrigues)."""
    angle = np.linalg.norm(turn, axis=-1)[..., None, None]
    a, b, c = turn[..., 0], turn[..., 1], turn[..., 2]
    zero = np.zeros_like(a)
    rows = [[zero, -c, b], [c, zero, -a], [-b, a, zero]]
    cross = np.stack([np.stack(row, axis=-1) for row in rows], axis=-2)
    half = np.sinc(angle / (2.0 * np.pi))
    matrices: Floats = np.eye(3) + np.sinc(angle / np.pi) * cross + 0.5 * half**2 * (cross @ cross)
    return matrices


def upright(network: Network, state: State) -> State:
    """The same places in the agreed frames: a face's second hole lies on its +x, not on -x."""
    uv, origin, axes = state.uv.copy(), state.origin.copy(), state.axes.copy()
    for f in range(len(network.faces)):
        holes = network.holes_on(f)
        if len(holes) > 1:
            back = uv[:, holes[1], 0] < 0.0
            uv[:, holes] *= np.where(back, -1.0, 1.0)[:, None, None]
            if f:
                axes[back, f, :, :2] *= -1.0
            else:
                _turn_site(origin, axes, back)
    if len(network.holes_on(0)) == 1 and len(network.faces) > 1:
        _turn_site(origin, axes, origin[:, 1, 0] < 0.0)
    return State(uv, origin, axes)


def _turn_site(origin: Floats, axes: Floats, back: npt.NDArray[np.bool_]) -> None:
    """Everything but the first face turned half a turn about the site's z."""
    half = np.array([-1.0, -1.0, 1.0])
    origin[back] *= half
    axes[back, 1:] *= half[:, None]
