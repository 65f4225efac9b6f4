"""How the unknowns' errors follow from the readings', and what the readings leave open."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from bracketgen.fit.locate.finding.descent import ANYWHERE, weighted
from bracketgen.fit.locate.finding.network import Floats, Network, State
from bracketgen.fit.locate.finding.prediction import Slopes
from bracketgen.fit.locate.finding.taken import Taken

#: A direction in which no reading changes by more than this share of what it could takes up none.
_OPEN: Final = 1e-5


@dataclass(frozen=True, slots=True, eq=False)
class Certainty:
    """Around the solution: residuals over sigma, their derivatives (rows, unknowns), and what follows from them.

    `open` holds, column by column, unit steps that no reading holds: either none changes at all, or so little that
    one standard deviation is a share of the site; `covariance` (mm2) of the unknowns in all other directions.
    `left_over` is the matrix that makes residuals of errors (redundancy on its diagonal), `rank` how many unknowns
    the readings take up.
    """

    residual: Floats
    slope: Floats
    covariance: Floats
    open: Floats
    left_over: Floats
    rank: int

    @property
    def freedom(self) -> int:
        """Readings more than needed, counted in rows."""
        return len(self.residual) - self.rank

    @property
    def chi_square(self) -> float:
        """Sum of the squares of the residuals over sigma."""
        return float(self.residual @ self.residual)


def certainty(network: Network, taken: Taken, state: State) -> Certainty:
    """The certainty of one set of positions."""
    left, slopes = weighted(network, taken, state)
    slope = slopes[0]
    open_, held = _open_and_held(slope)
    inside = slope @ held
    # Of orthogonal columns, so that readings of very different errors do no harm.
    q, r = np.linalg.qr(inside)
    back = held @ np.linalg.inv(r) if held.shape[1] else held
    ways, sizes, _ = np.linalg.svd(back, full_matrices=False)
    weak = sizes > ANYWHERE * network.size_mm
    firm = ways[:, ~weak] * sizes[~weak]
    open_ = np.concatenate([open_, ways[:, weak]], axis=1)
    return Certainty(left[0], slope, firm @ firm.T, open_, np.eye(len(slope)) - q @ q.T, held.shape[1])


def _open_and_held(slope: Floats) -> tuple[Floats, Floats]:
    """Unit steps that change no reading, and those that span the rest."""
    unknowns = slope.shape[1]
    length = np.linalg.norm(slope, axis=1, keepdims=True)
    rows = slope[length[:, 0] > 0.0] / length[length[:, 0] > 0.0]
    if not len(rows):
        return np.eye(unknowns), np.zeros((unknowns, 0))
    _, sizes, ways = np.linalg.svd(rows)
    rank = int(np.count_nonzero(sizes > _OPEN))
    return ways[rank:].T, ways[:rank].T


def hole_slopes(network: Network, state: State) -> Floats:
    """How the holes' places in the site (3 rows a hole) change with the unknowns."""
    count = len(network.holes)
    slopes = Slopes(network, state, 3 * count)
    holes = np.arange(count)
    at = np.concatenate([state.uv, np.zeros((1, count, 1))], axis=-1)
    for axis in range(3):
        unit = np.zeros((1, count, 3))
        unit[..., axis] = 1.0
        slopes.add_point(3 * holes + axis, holes, at, unit)
    return slopes.table[0, :, :-1]


def normal_slopes(network: Network, state: State) -> Floats:
    """How the faces' normals (3 rows a face) change with the unknowns, a radian counting as `size_mm`."""
    count = len(network.faces)
    slopes = Slopes(network, state, 3 * count)
    faces = np.arange(count)
    for axis in range(3):
        unit = np.zeros((1, count, 3))
        unit[..., axis] = 1.0
        slopes.add_axis(3 * faces + axis, faces, 2, unit)
    return slopes.table[0, :, :-1] * network.size_mm


def with_open(network: Network, sure: Certainty) -> Floats:
    """Covariance of the unknowns with one size of the site as the standard deviation of whatever is open."""
    whole: Floats = sure.covariance + sure.open @ sure.open.T * network.size_mm**2
    return whole
