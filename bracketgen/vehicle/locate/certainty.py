"""How the unknowns' errors follow from the readings', what the readings leave open, and which one looks wrong."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.special import ndtri

from bracketgen.geometry.arrays import Floats, Indices
from bracketgen.vehicle.locate.adjustment import ANYWHERE, weighted
from bracketgen.vehicle.locate.network import Network, State
from bracketgen.vehicle.locate.observations import Observations, Slopes

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


def certainty(network: Network, taken: Observations, state: State) -> Certainty:
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


# -- which one reading contradicts the others: test of the largest standardised residual
#
# Each reading's residual is divided by its own standard deviation; the largest is held against the normal distribution
# with the significance shared among all readings that are checked (Bonferroni). Method: W. Baarda, A testing procedure
# for use in geodetic networks (1968), from memory.

#: One site in twenty without any mistake gets a reading suspected.
SIGNIFICANCE: Final = 0.05
#: A reading that the others check by less than this counts as unchecked: it would have to be off by 40 sigma to be
#: noticed, and small faults of the linear theory would be blown up tenfold.
_CHECKED: Final = 0.01
#: Residuals more alike than this can't be told apart.
_ALIKE: Final = 0.999


@dataclass(frozen=True, slots=True, eq=False)
class Suspicion:
    """Row by row redundancy and standardised residual (NaN where unchecked); the limit; and what is suspected.

    `reading` is the suspected reading, None for none; `error` about how far it is out, in its unit; `alike` other
    readings on which the same mistake would look the same.
    """

    redundancy: Floats
    w: Floats
    limit: float
    reading: int | None
    error: float
    alike: tuple[int, ...]


def suspicion(sure: Certainty, sigma: Floats, reading: Indices) -> Suspicion:
    """The test of every row of an adjustment; `reading` says which reading a row belongs to."""
    redundancy: Floats = np.clip(np.diag(sure.left_over), 0.0, 1.0)
    checked = redundancy > _CHECKED
    # Without redundancy to speak of a residual is rounding noise over rounding noise.
    w: Floats = np.where(checked, sure.residual / np.sqrt(np.where(checked, redundancy, 1.0)), np.nan)
    tests = _independent(sure, checked)
    limit = float(ndtri(1.0 - SIGNIFICANCE / max(1, tests) / 2.0))
    if not checked.any() or np.nanmax(np.abs(w)) <= limit:
        return Suspicion(redundancy, w, limit, None, 0.0, ())
    worst = int(np.nanargmax(np.abs(w)))
    error = float(sure.residual[worst] / redundancy[worst] * sigma[worst])
    same = [int(reading[n]) for n in np.flatnonzero(checked) if abs(alikeness(sure, worst, int(n))) > _ALIKE]
    alike = tuple(sorted(set(same) - {int(reading[worst])}))
    return Suspicion(redundancy, w, limit, int(reading[worst]), error, alike)


def alikeness(sure: Certainty, a: int, b: int) -> float:
    """Correlation of two rows' standardised residuals: 1 or -1 where a mistake in either looks the same."""
    shares = sure.left_over
    return float(shares[a, b] / np.sqrt(shares[a, a] * shares[b, b]))


def _independent(sure: Certainty, checked: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> int:
    """How many different tests there are: rows that can't be told apart are one."""
    kept: list[int] = []
    for n in np.flatnonzero(checked):
        if all(abs(alikeness(sure, int(n), k)) <= _ALIKE for k in kept):
            kept.append(int(n))
    return len(kept)
