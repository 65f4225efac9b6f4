"""The positions that fit the readings best, and all others that fit about as well: damped least squares.

Method of Levenberg and Marquardt with the damping scaled by the diagonal of the normal equations (from memory), for
many starts at once.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log
from typing import Final

import numpy as np
import numpy.typing as npt
from scipy.special import ndtri

from bracketgen.geometry.arrays import Floats, Indices
from bracketgen.vehicle.locate.guesses import Hints, first_guesses, folds
from bracketgen.vehicle.locate.network import Network, State, joined, moved, upright
from bracketgen.vehicle.locate.observations import Observations, Slopes, predicted

_MOST_STEPS: Final = 40
_MOST_LAST_STEPS: Final = 200
#: What may be off by more than this share of the site's size (one standard deviation) counts as loose.
ANYWHERE: Final = 0.1
#: A step below this share of the site's size, or a gain below this share of the cost, ends the descent.
_SMALL_STEP: Final = 1e-8
_SMALL_GAIN: Final = 1e-9
_FIRST_DAMPING: Final = 1e-2


@dataclass(frozen=True, slots=True, eq=False)
class Fits:
    """Sets of positions and, for each, the sum of squared residuals over their standard deviations."""

    state: State
    cost: Floats

    def picked(self, which: npt.NDArray[np.intp] | list[int]) -> Fits:
        """Some of the sets."""
        return Fits(self.state.picked(which), self.cost[which])


def put_together(fits: list[Fits]) -> Fits:
    """All sets of several fits."""
    return Fits(joined([f.state for f in fits]), np.concatenate([f.cost for f in fits]))


def weighted(network: Network, readings: Observations, state: State) -> tuple[Floats, Floats]:
    """Measured less computed over sigma (s, rows), and the derivatives of the computed over sigma."""
    value, slope = predicted(network, readings, state)
    return (readings.measured - value) / readings.sigma, slope / readings.sigma[:, None]


def descended(network: Network, readings: Observations, state: State, most_steps: int = _MOST_STEPS) -> Fits:
    """Every set of positions moved to the best fit near it."""
    if network.unknowns == 0:
        left, _ = weighted(network, readings, state)
        return Fits(state, np.einsum("sr,sr->s", left, left))
    run = _Run(network, readings, state)
    for _ in range(most_steps):
        if not run.busy.any():
            break
        run.step()
    return Fits(run.state, run.cost)


class _Run:
    """Where all the descents stand."""

    def __init__(self, network: Network, readings: Observations, state: State) -> None:
        self.network, self.readings = network, readings
        self.state = State(state.uv.copy(), state.origin.copy(), state.axes.copy())
        left, self.slope = weighted(network, readings, state)
        self.left = left
        self.cost: Floats = np.einsum("sr,sr->s", left, left)
        self.damping: Floats = np.full(len(left), _FIRST_DAMPING)
        self.busy = np.ones(len(left), dtype=bool)

    def step(self) -> None:
        """One damped step of each descent that is not over; taken where it is downhill."""
        on = np.flatnonzero(self.busy)
        step = self._proposed(on)
        trial = moved(self.network, self.state.picked(on), step)
        left, slope = weighted(self.network, self.readings, trial)
        cost: Floats = np.einsum("sr,sr->s", left, left)
        down = cost <= self.cost[on]
        gain = self.cost[on] - cost
        self._take(on[down], trial.picked(down), left[down], slope[down], cost[down])
        self.damping[on] = np.where(down, np.maximum(self.damping[on] * 0.2, 1e-14), self.damping[on] * 6.0)
        small = np.linalg.norm(step, axis=1) < _SMALL_STEP * self.network.size_mm
        idle = down & (gain < _SMALL_GAIN * cost) & (self.damping[on] < _FIRST_DAMPING)
        self.busy[on[small | idle | (self.damping[on] > 1e12)]] = False

    def _proposed(self, on: npt.NDArray[np.intp]) -> Floats:
        slope = self.slope[on]
        normal = slope.transpose(0, 2, 1) @ slope
        toward = np.einsum("sru,sr->su", slope, self.left[on])
        diagonal = np.einsum("suu->su", normal)
        floor = 1e-9 * diagonal.max(axis=1, keepdims=True) + 1e-30
        normal += (
            np.eye(self.network.unknowns)
            * (self.damping[on, None] * np.maximum(diagonal, floor) + floor * 1e-4)[:, None, :]
        )
        step: Floats = np.linalg.solve(normal, toward[..., None])[..., 0]
        # A turn of more than half a radian, or a move of more than the site, is a step into the dark.
        length = np.linalg.norm(step, axis=1, keepdims=True)
        bounded: Floats = step * np.minimum(1.0, self.network.size_mm / np.maximum(length, 1e-300))
        return bounded

    def _take(self, which: npt.NDArray[np.intp], state: State, left: Floats, slope: Floats, cost: Floats) -> None:
        for old, new in zip(
            (self.state.uv, self.state.origin, self.state.axes), (state.uv, state.origin, state.axes), strict=True
        ):
            old[which] = new
        self.left[which], self.slope[which], self.cost[which] = left, slope, cost


def polished(network: Network, readings: Observations, state: State) -> Fits:
    """One set of positions moved to the very bottom; what is loose stays where it is."""
    best = descended(network, readings, state, _MOST_LAST_STEPS)
    for _ in range(12):
        left, slope = weighted(network, readings, best.state)
        step = _undamped(left[0], slope[0], ANYWHERE * network.size_mm)[None]
        trial = descended(network, readings, moved(network, best.state, step), 0)
        if not trial.cost[0] <= best.cost[0] * (1.0 + 1e-9) + 1e-18 or np.linalg.norm(step) > network.size_mm:
            break
        best = trial
        if np.linalg.norm(step) < 1e-13 * network.size_mm:
            break
    return best


def _undamped(left: Floats, slope: Floats, loose_mm: float) -> Floats:
    """The full step, but none in directions that are not held to `loose_mm` (one standard deviation)."""
    u, sizes, ways = np.linalg.svd(slope, full_matrices=False)
    held = sizes * loose_mm > 1.0
    step: Floats = ways[held].T @ ((u.T @ left)[held] / sizes[held])
    return step


# -- from many starts to one solution and its rivals

#: Positions whose sum of squares is larger by less than this can't be told from the best by readings alone: with normal
#: errors a set is as likely as exp(-difference / 2), so beyond it is less likely than one in a thousand.
AS_WELL: Final = 2.0 * log(1000.0)
#: The same guesses for the same site, on every machine.
_SEED: Final = 27
_ROUNDS: Final = 3
#: Guesses are tried again while the fit is worse than this many times its redundancy.
_POOR: Final = 4.0
_MORE_TRIES: Final = 3
#: Steps after which sets are left behind whose cost is so many times that of the best and of good readings together,
#: but never the best few.
_FIRST_LEG: Final = 10
_HOPELESS: Final = 30.0
_ALWAYS_AHEAD: Final = 6
#: Two solutions are one when no hole is farther apart than this share of the site, and no normal farther in radians.
_SAME: Final = 1e-4


@dataclass(frozen=True, slots=True, eq=False)
class Solution:
    """The chosen set of positions, its sum of squares, and other sets that fit as well."""

    state: State
    cost: float
    others: State
    settled_by_hints: int


def solved(network: Network, readings: Observations, hints: Hints) -> Solution:
    """The best fit; among equally good ones that nearest to the hints."""
    rng = np.random.default_rng(_SEED)
    pool = _pool(network, readings, hints, rng)
    for _ in range(_MORE_TRIES):
        spare = max(1, len(readings.measured) - network.unknowns)
        if pool.cost.min() <= _POOR * spare:
            break
        pool = _kept(network, put_together([pool, _pool(network, readings, hints, rng)]))
    fits = put_together([polished(network, readings, pool.state.picked([n])) for n in range(len(pool.cost))])
    fits = Fits(upright(network, fits.state), fits.cost)
    fits = _kept(network, fits)
    return _chosen(network, fits, hints)


def _pool(network: Network, readings: Observations, hints: Hints, rng: np.random.Generator) -> Fits:
    """Distinct good fits from first guesses and from mirror images of what was found."""
    pool = _kept(network, _raced(network, readings, first_guesses(network, readings, hints, rng)))
    tried = 0
    for _ in range(_ROUNDS):
        fresh = [folds(network, pool.state.picked([n])) for n in range(tried, min(len(pool.cost), tried + 4))]
        images = [f for f in fresh if f is not None]
        if not images:
            break
        before = len(pool.cost), float(pool.cost.min())
        grown = _kept(network, put_together([pool, _raced(network, readings, joined(images))]))
        better = grown.cost.min() < before[1] - AS_WELL
        tried = 0 if better else tried + len(fresh)
        pool = grown
        if tried >= len(pool.cost):
            break
    return pool


def _raced(network: Network, readings: Observations, state: State) -> Fits:
    """Every set moved downhill; those that are hopeless after a while are left behind."""
    fits = descended(network, readings, state, _FIRST_LEG)
    order = np.argsort(fits.cost, kind="stable")
    hopeless = _HOPELESS * (len(readings.measured) + fits.cost[order[0]])
    ahead = [int(n) for place, n in enumerate(order) if place < _ALWAYS_AHEAD or fits.cost[n] < hopeless]
    return descended(network, readings, fits.state.picked(ahead))


def _kept(network: Network, fits: Fits) -> Fits:
    """The best fit and those that fit as well, one of each kind, in the order in which they were found."""
    upright_fits = Fits(upright(network, fits.state), fits.cost)
    best = float(np.nanmin(fits.cost))
    good = [n for n in np.argsort(fits.cost, kind="stable") if fits.cost[n] <= best + AS_WELL]
    points = upright_fits.state.points(network) / network.size_mm
    both = np.concatenate([points, upright_fits.state.normals], axis=1)
    kept: list[int] = []
    for n in good[:200]:
        if all(np.abs(both[n] - both[k]).max() > _SAME for k in kept):
            kept.append(int(n))
        if len(kept) >= 24:
            break
    return upright_fits.picked(kept)


def _chosen(network: Network, fits: Fits, hints: Hints) -> Solution:
    """What hints decide is decided; the rest stays open."""
    far = hints.misfit(fits.state, network.size_mm)
    total = np.linalg.norm(far, axis=1)
    plain = _plainness(network, fits)
    best = min(range(len(total)), key=lambda n: (round(float(total[n]) / network.size_mm, 4), plain[n]))
    open_, settled = [], 0
    for n in range(len(total)):
        apart = float(np.linalg.norm(far[n] - far[best]))
        # A hint decides when it lies clearly nearer to one image than to the other.
        if n != best:
            clear = total[n] - total[best] > 0.25 * apart and apart > _SAME * network.size_mm
            settled += clear
            open_ += [] if clear else [n]
    return Solution(fits.state.picked([best]), float(fits.cost[best]), fits.state.picked(open_), settled)


def _plainness(network: Network, fits: Fits) -> list[tuple[float, ...]]:
    """Without hints: faces that look the same way, then holes to the left of the first line, then above."""
    size = network.size_mm
    looks: Floats = -np.round(fits.state.normals[..., 2].sum(axis=1), 3)
    keys: list[tuple[float, ...]] = []
    for n, (uv, origin) in enumerate(zip(fits.state.uv, fits.state.origin, strict=True)):
        side = next((-float(np.sign(v)) for v in uv[:, 1] if abs(v) > 1e-4 * size), 0.0)
        above = -float(np.sign(np.round(origin[:, 2].sum() / size, 4)))
        keys.append((float(looks[n]), side, above, round(float(fits.cost[n]), 6)))
    return keys


# How the unknowns' errors follow from the readings', what the readings leave open, and which one looks wrong.


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


def certainty(network: Network, readings: Observations, state: State) -> Certainty:
    """The certainty of one set of positions."""
    left, slopes = weighted(network, readings, state)
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
