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

from bracketgen.geometry.arrays import Floats
from bracketgen.vehicle.locate.guesses import Hints, first_guesses, folds
from bracketgen.vehicle.locate.network import Network, State, joined, moved, upright
from bracketgen.vehicle.locate.observations import Observations, predicted

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


def weighted(network: Network, taken: Observations, state: State) -> tuple[Floats, Floats]:
    """Measured less computed over sigma (s, rows), and the derivatives of the computed over sigma."""
    value, slope = predicted(network, taken, state)
    return (taken.measured - value) / taken.sigma, slope / taken.sigma[:, None]


def descended(network: Network, taken: Observations, state: State, most_steps: int = _MOST_STEPS) -> Fits:
    """Every set of positions moved to the best fit near it."""
    if network.unknowns == 0:
        left, _ = weighted(network, taken, state)
        return Fits(state, np.einsum("sr,sr->s", left, left))
    run = _Run(network, taken, state)
    for _ in range(most_steps):
        if not run.busy.any():
            break
        run.step()
    return Fits(run.state, run.cost)


class _Run:
    """Where all the descents stand."""

    def __init__(self, network: Network, taken: Observations, state: State) -> None:
        self.network, self.taken = network, taken
        self.state = State(state.uv.copy(), state.origin.copy(), state.axes.copy())
        left, self.slope = weighted(network, taken, state)
        self.left = left
        self.cost: Floats = np.einsum("sr,sr->s", left, left)
        self.damping: Floats = np.full(len(left), _FIRST_DAMPING)
        self.busy = np.ones(len(left), dtype=bool)

    def step(self) -> None:
        """One damped step of each descent that is not over; taken where it is downhill."""
        on = np.flatnonzero(self.busy)
        step = self._proposed(on)
        trial = moved(self.network, self.state.picked(on), step)
        left, slope = weighted(self.network, self.taken, trial)
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


def polished(network: Network, taken: Observations, state: State) -> Fits:
    """One set of positions moved to the very bottom; what is loose stays where it is."""
    best = descended(network, taken, state, _MOST_LAST_STEPS)
    for _ in range(12):
        left, slope = weighted(network, taken, best.state)
        step = _undamped(left[0], slope[0], ANYWHERE * network.size_mm)[None]
        trial = descended(network, taken, moved(network, best.state, step), 0)
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


def solved(network: Network, taken: Observations, hints: Hints) -> Solution:
    """The best fit; among equally good ones that nearest to the hints."""
    rng = np.random.default_rng(_SEED)
    pool = _pool(network, taken, hints, rng)
    for _ in range(_MORE_TRIES):
        spare = max(1, len(taken.measured) - network.unknowns)
        if pool.cost.min() <= _POOR * spare:
            break
        pool = _kept(network, put_together([pool, _pool(network, taken, hints, rng)]))
    fits = put_together([polished(network, taken, pool.state.picked([n])) for n in range(len(pool.cost))])
    fits = Fits(upright(network, fits.state), fits.cost)
    fits = _kept(network, fits)
    return _chosen(network, fits, hints)


def _pool(network: Network, taken: Observations, hints: Hints, rng: np.random.Generator) -> Fits:
    """Distinct good fits from first guesses and from mirror images of what was found."""
    pool = _kept(network, _raced(network, taken, first_guesses(network, taken, hints, rng)))
    tried = 0
    for _ in range(_ROUNDS):
        fresh = [folds(network, pool.state.picked([n])) for n in range(tried, min(len(pool.cost), tried + 4))]
        images = [f for f in fresh if f is not None]
        if not images:
            break
        before = len(pool.cost), float(pool.cost.min())
        grown = _kept(network, put_together([pool, _raced(network, taken, joined(images))]))
        better = grown.cost.min() < before[1] - AS_WELL
        tried = 0 if better else tried + len(fresh)
        pool = grown
        if tried >= len(pool.cost):
            break
    return pool


def _raced(network: Network, taken: Observations, state: State) -> Fits:
    """Every set moved downhill; those that are hopeless after a while are left behind."""
    fits = descended(network, taken, state, _FIRST_LEG)
    order = np.argsort(fits.cost, kind="stable")
    hopeless = _HOPELESS * (len(taken.measured) + fits.cost[order[0]])
    ahead = [int(n) for place, n in enumerate(order) if place < _ALWAYS_AHEAD or fits.cost[n] < hopeless]
    return descended(network, taken, fits.state.picked(ahead))


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
