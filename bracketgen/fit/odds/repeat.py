"""Which reading, taken once more with care, would bring the most builds to bolt up."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import combinations
from typing import Final

import numpy as np
import numpy.typing as npt

from bracketgen.fit.locate.located import Located
from bracketgen.fit.odds.draws import Draws, is_old
from bracketgen.fit.odds.trial import Holes, hold
from bracketgen.fit.seating.placed import Placed

Floats = npt.NDArray[np.float64]
Truths = npt.NDArray[np.bool_]

#: Readings that are least sure are weighed, so many of them, by so many builds.
_WEIGHED: Final = 6
_BUILDS: Final = 5_000
_WORTH: Final = 0.002
_TOLD: Final = 3


@dataclass(frozen=True, slots=True)
class Repeat:
    """A reading to take (again): its words, how unsure it is now (one standard deviation, mm), the share it brings.

    `reading` is the number of an earlier reading that names both holes, None where there was none.
    """

    text: str
    between: tuple[str, str]
    reading: int | None
    unsure_mm: float
    share: float


@dataclass(frozen=True, slots=True, eq=False)
class _Candidate:
    text: str
    between: tuple[str, str]
    row: Floats
    variance: float


def repeats(
    placed: Placed, located: Located, draws: Draws, holes: Holes, fits: Truths, sigma_mm: float
) -> tuple[Repeat, ...]:
    """The few readings between the bolted old holes that help most, each good to `sigma_mm`, best first.

    A reading with design row a, taken on top of all others, moves the solution by C a / (a C a + sigma2) for each mm
    that it disagrees: the update of least squares by one observation.
    """
    covariance = _of_bolts(placed, located)
    found = sorted(_candidates(placed, covariance), key=lambda c: -c.variance)[:_WEIGHED]
    few = draws.first(_BUILDS)
    before, now = float(fits.mean()), float(fits[: len(few.old)].mean())
    noise = np.random.default_rng(len(fits)).normal(0.0, sigma_mm, len(few.old))
    told = []
    for candidate in found:
        if candidate.variance <= sigma_mm**2:
            continue
        better = replace(few, old=_updated(few.old, candidate, covariance, sigma_mm, noise))
        share = before + float(hold(placed, better, holes).fits(holes)[0].mean()) - now
        if share >= before + _WORTH:
            told.append(_told(candidate, located, min(share, 1.0)))
    return tuple(sorted(told, key=lambda r: -r.share)[:_TOLD])


def _of_bolts(placed: Placed, located: Located) -> Floats:
    """Joint covariance of the bolts' old holes, (3 n, 3 n); 0 for what is carried."""
    number = {hole.id: k for k, hole in enumerate(located.holes)}
    n = len(placed.bolts)
    pick = np.zeros((3 * n, len(located.covariance)))
    for k, bolt in enumerate(placed.bolts):
        if is_old(bolt):
            pick[3 * k : 3 * k + 3, 3 * number[bolt.mate] : 3 * number[bolt.mate] + 3] = np.eye(3)
    covariance: Floats = pick @ located.covariance @ pick.T
    return covariance


def _candidates(placed: Placed, covariance: Floats) -> list[_Candidate]:
    found = []
    old = [k for k, bolt in enumerate(placed.bolts) if is_old(bolt)]
    for i, j in combinations(old, 2):
        a, b = placed.bolts[i], placed.bolts[j]
        between = (a.mate, b.mate)
        apart = np.array(b.wanted) - np.array(a.wanted)
        if np.linalg.norm(apart) > 0:
            found.append(_candidate(f"distance {a.mate} to {b.mate}", between, i, j, apart, covariance))
        step = np.array(a.axis)
        found.append(_candidate(f"step of {b.mate} out of the face of {a.mate}", between, i, j, step, covariance))
    return found


def _candidate(text: str, between: tuple[str, str], i: int, j: int, way: Floats, covariance: Floats) -> _Candidate:
    row = np.zeros(len(covariance))
    unit = way / np.linalg.norm(way)
    row[3 * i : 3 * i + 3], row[3 * j : 3 * j + 3] = -unit, unit
    return _Candidate(text, between, row, float(row @ covariance @ row))


def _updated(old: Floats, candidate: _Candidate, covariance: Floats, sigma_mm: float, noise: Floats) -> Floats:
    flat = old.reshape(len(old), -1)
    gain = covariance @ candidate.row / (candidate.variance + sigma_mm**2)
    updated: Floats = flat - np.outer(flat @ candidate.row + noise, gain)
    return updated.reshape(old.shape)


def _told(candidate: _Candidate, located: Located, share: float) -> Repeat:
    named = [r.reading for r in located.residuals if all(hole in r.text for hole in candidate.between)]
    unsure = float(np.sqrt(candidate.variance))
    return Repeat(candidate.text, candidate.between, named[0] if named else None, unsure, share)
