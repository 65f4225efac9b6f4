"""The positions that fit the readings best, and all others that fit about as well."""

from __future__ import annotations

from dataclasses import dataclass
from math import log
from typing import Final

import numpy as np

from bracketgen.fit.locate.finding.descent import Fits, descended, polished, put_together
from bracketgen.fit.locate.finding.folds import folds
from bracketgen.fit.locate.finding.network import Floats, Network, State, joined, upright
from bracketgen.fit.locate.finding.starts import Hints, first_guesses
from bracketgen.fit.locate.finding.taken import Taken

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


def solved(network: Network, taken: Taken, hints: Hints) -> Solution:
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


def _pool(network: Network, taken: Taken, hints: Hints, rng: np.random.Generator) -> Fits:
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


def _raced(network: Network, taken: Taken, state: State) -> Fits:
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
