"""Which one reading looks wrong: test of the largest standardised residual.

Each reading's residual is divided by its own standard deviation; the largest is held against the normal distribution
with the significance shared among all readings that are checked (Bonferroni). Method: W. Baarda, A testing procedure
for use in geodetic networks (1968), from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from bracketgen.fit.locate.finding.network import Floats, Ints
from bracketgen.fit.locate.judging.certainty import Certainty
from bracketgen.fit.locate.judging.chi_square import normal_limit

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


def suspicion(sure: Certainty, sigma: Floats, reading: Ints) -> Suspicion:
    """The test of every row of an adjustment; `reading` says which reading a row belongs to."""
    redundancy: Floats = np.clip(np.diag(sure.left_over), 0.0, 1.0)
    checked = redundancy > _CHECKED
    # Without redundancy to speak of a residual is rounding noise over rounding noise.
    w: Floats = np.where(checked, sure.residual / np.sqrt(np.where(checked, redundancy, 1.0)), np.nan)
    tests = _independent(sure, checked)
    limit = normal_limit(SIGNIFICANCE / max(1, tests))
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
