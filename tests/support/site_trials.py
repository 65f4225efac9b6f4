"""Random sites measured with noise, or with one reading spoiled, and how the adjustment copes."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from random_sites import TrueSite, random_site

from bracketgen.vehicle.locate.adjustment import certainty, suspicion
from bracketgen.vehicle.locate.locate import Located, locate
from bracketgen.vehicle.locate.network import State
from bracketgen.vehicle.locate.readings import problem_of

DRAWS = 3000


@dataclass(frozen=True)
class Trial:
    """One spoiled reading: whether it was named (or can't be told from what was), and the share that theory allows."""

    named: bool
    alike: bool
    theory: float
    error: float
    true_error: float
    redundancy: float


@cache
def noisy(seed: int, times: float = 1.0) -> tuple[TrueSite, Located]:
    """A site whose readings are off by their own sigmas, `times` over."""
    site = random_site(seed, 1 + seed % 3)
    rng = np.random.default_rng(10_000 + seed)
    noise = times * rng.standard_normal(len(site.readings)) * [r.sigma for r in site.readings]
    return site, locate(site.site(noise=noise, seed=seed))


def normalised_error(site: TrueSite, located: Located) -> tuple[float, int]:
    """Errors of all holes over the reported covariance, squared and summed, and how many numbers that is."""
    error = (np.array([h.centre for h in located.holes]) - site.places).ravel()
    sizes, ways = np.linalg.eigh(located.covariance / located.widened)
    known = sizes > 1e-9 * sizes.max()
    return float(((ways.T @ error)[known] ** 2 / sizes[known]).sum()), int(known.sum())


def spoiled(seed: int, sigmas: float) -> Trial:
    """A noisy site with one reading off by so many sigmas more."""
    site = random_site(seed, 1 + seed % 3)
    rng = np.random.default_rng(77_000 + seed)
    reading = int(rng.integers(len(site.readings)))
    sign = float(rng.choice([-1.0, 1.0]))
    theory, redundancy = named_right(site, reading, sign * sigmas, rng)
    noise = rng.standard_normal(len(site.readings)) * [r.sigma for r in site.readings]
    noise[reading] += sign * sigmas * site.readings[reading].sigma
    located = locate(site.site(noise=noise, seed=seed))
    alike = bool(located.suspect_alike)
    named = located.suspect is not None and (located.suspect == reading or reading in located.suspect_alike)
    return Trial(
        named, alike, theory, located.suspect_error or 0.0, sign * sigmas * site.readings[reading].sigma, redundancy
    )


def named_right(site: TrueSite, reading: int, sigmas: float, rng: np.random.Generator) -> tuple[float, float]:
    """The share in which theory names the reading, and how much the others check it.

    At the true places residuals are the errors times a fixed matrix; so the test values are normal with known
    means, variances and correlations, and the share follows by drawing them.
    """
    problem = problem_of(site.site())
    state = State(
        np.array([[h.uv for f in site.faces.values() for h in f.holes.values()]]),
        np.array([[f.origin for f in site.faces.values()]]),
        np.array([[f.axes for f in site.faces.values()]]),
    )
    sure = certainty(problem.network, problem.readings, state)
    limit = suspicion(sure, problem.readings.sigma, problem.readings.reading).limit
    row = int(np.flatnonzero(problem.readings.reading == reading)[0])
    spread = np.diag(sure.left_over)
    checked = spread > 0.01
    errors = rng.standard_normal((DRAWS, len(spread)))
    errors[:, row] += sigmas
    w = np.abs(np.where(checked, errors @ sure.left_over / np.sqrt(np.where(checked, spread, 1.0)), 0.0))
    largest = w.argmax(axis=1)
    like = np.abs(sure.left_over[largest, row]) / np.sqrt(np.maximum(spread[largest] * spread[row], 1e-30))
    right = (w.max(axis=1) > limit) & ((largest == row) | (like > 0.999))
    return float(right.mean()), float(spread[row])
