"""The highest place of the least of many heights, in a box: a coarse grid, then a climb.

The climb tries steps along the axes and along the steepest way up of all heights that are about least together (the
shortest vector in the hull of their gradients: V. F. Demyanov, V. N. Malozemov, Introduction to Minimax, 1974), and
halves the step when none is higher. No chance is involved: the same question has the same answer.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Final

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

#: A place is found this closely, mm.
EXACT_MM: Final = 0.01
#: Steps of the search for the shortest vector of a hull.
_HULL_STEPS: Final = 60
#: Grid points along an axis: with one or two free axes, and with more.
_FINE, _COARSE = 5, 3
#: Where the climb starts besides the place given first.
_STARTS: Final = 2
#: Higher by less is no higher, as a share of the step.
_GAIN: Final = 1e-4


@dataclass(frozen=True, slots=True)
class Heights:
    """Heights at one place (m), and how each of them grows along every axis (m, d)."""

    mm: Floats
    slope: Floats

    @property
    def least(self) -> float:
        """The least of them."""
        return float(self.mm.min(initial=np.inf))


#: Heights at many places at once (n, d).
Survey = Callable[[Floats], Sequence[Heights]]
#: The least height at a place with what is costly to know; given the least of the others, which it can't exceed.
Checked = Callable[[Floats, float], float]


def highest(survey: Survey, checked: Checked, half: Floats) -> Floats:
    """The place within `half` to either side of 0 where the least height is greatest; as near to 0 as can be."""
    climb = _Climb(survey, checked, half)
    zero = np.zeros(len(half))
    starts = [zero, *climb.grid()]
    tops = [climb.up(s) for s in starts]
    best = max(tops, key=lambda top: (round(top[1], 3), -float(np.linalg.norm(top[0]))))
    return climb.back(*best)


class _Climb:
    def __init__(self, survey: Survey, checked: Checked, half: Floats) -> None:
        self.survey, self.checked, self.half = survey, checked, half
        self.free = np.flatnonzero(half > 0.0)

    def grid(self) -> list[Floats]:
        """The best places of a coarse grid."""
        count = _FINE if len(self.free) <= 2 else _COARSE
        lines = [np.linspace(-h, h, count) if h > 0.0 else np.zeros(1) for h in self.half]
        places = np.array(list(product(*lines)))
        return [places[k] for k, _ in self._best(self.survey(places), places, _STARTS, -np.inf)]

    def _best(self, surveyed: Sequence[Heights], places: Floats, count: int, above: float) -> list[tuple[int, float]]:
        """The `count` highest of the places and their heights, all above `above`; costly ones are asked last."""
        least = np.array([h.least for h in surveyed])
        found: list[tuple[int, float]] = []
        for k in np.argsort(-least, kind="stable").tolist():
            bar = found[count - 1][1] if len(found) >= count else above
            if least[k] <= bar:
                break
            height = self.checked(places[k], float(least[k]))
            if height > bar:
                found = sorted([*found, (k, height)], key=lambda f: -f[1])[:count]
        return found

    def up(self, start: Floats) -> tuple[Floats, float]:
        """Climbs from a place as far as it goes."""
        heights = self.survey(start[None])[0]
        here, height = start, self.checked(start, heights.least)
        step = float(self.half.max(initial=0.0))
        while step > EXACT_MM and len(self.free):
            places = self._steps(here, step, heights)
            surveyed = self.survey(places)
            found = self._best(surveyed, places, 1, height + _GAIN * step)
            if found:
                k, height = found[0]
                here, heights = places[k], surveyed[k]
            else:
                step /= 2
        return here, height

    def _steps(self, here: Floats, step: float, heights: Heights) -> Floats:
        ways = [s * np.eye(len(here))[i] for i in self.free for s in (1.0, -1.0)]
        for about in (0.0, step / 4, step):
            active = heights.mm <= heights.least + about + 1e-9
            way = shortest_in_hull(heights.slope[active] * (self.half > 0.0))
            size = float(np.linalg.norm(way))
            if size > 1e-9:
                ways.append(way / size)
        return np.unique(np.clip(here + step * np.array(ways), -self.half, self.half), axis=0)

    def back(self, here: Floats, height: float) -> Floats:
        """Nearer to 0 along every axis, as long as nothing gets lower."""
        for i in self.free:
            for share in (0.0, 0.25, 0.5, 0.75):
                place = here.copy()
                place[i] *= share
                if self.checked(place, self.survey(place[None])[0].least) >= height - EXACT_MM / 10:
                    here = place
                    break
        return here


def shortest_in_hull(vectors: Floats) -> Floats:
    """The shortest vector in the hull of some vectors (n, d)."""
    if not len(vectors):
        return np.zeros(vectors.shape[1])
    x: Floats = vectors[int(np.argmin((vectors**2).sum(axis=1)))]
    for _ in range(_HULL_STEPS):
        far = vectors[int(np.argmin(vectors @ x))]
        line = far - x
        size = float(line @ line)
        if size < 1e-18 or float(-x @ line) <= 1e-12:
            break
        x = x + min(1.0, float(-x @ line) / size) * line
    return x
