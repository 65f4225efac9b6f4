"""From many starts at once down to the positions that fit best nearby: damped least squares.

Method of Levenberg and Marquardt with the damping scaled by the diagonal of the normal equations (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from bracketgen.fit.locate.finding.network import Floats, Network, State, joined, moved
from bracketgen.fit.locate.finding.prediction import predicted
from bracketgen.fit.locate.finding.taken import Taken

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


def weighted(network: Network, taken: Taken, state: State) -> tuple[Floats, Floats]:
    """Measured less computed over sigma (s, rows), and the derivatives of the computed over sigma."""
    value, slope = predicted(network, taken, state)
    return (taken.measured - value) / taken.sigma, slope / taken.sigma[:, None]


def descended(network: Network, taken: Taken, state: State, most_steps: int = _MOST_STEPS) -> Fits:
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

    def __init__(self, network: Network, taken: Taken, state: State) -> None:
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


def polished(network: Network, taken: Taken, state: State) -> Fits:
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
