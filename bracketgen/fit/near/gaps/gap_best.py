"""What a search asks for, and what it has found."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from bracketgen.fit.near.gaps.convex import MEETING_MM
from bracketgen.fit.near.gaps.support import Bools, Floats, Indices


@dataclass(slots=True)
class Pairs:
    """Piece `i[n]` of the one side and `j[n]` of the other, for group `group[n]`, at least `below[n]` mm apart."""

    i: Indices
    j: Indices
    group: Indices
    below: Floats

    def rows(self, chosen: Indices | Bools) -> Pairs:
        """Some of the pairs."""
        return Pairs(self.i[chosen], self.j[chosen], self.group[chosen], self.below[chosen])

    def __len__(self) -> int:
        return len(self.i)

    @staticmethod
    def joined(sets: Sequence[Pairs]) -> Pairs:
        """All pairs of the sets."""
        none, nothing = np.zeros(0, dtype=np.intp), np.zeros(0)
        return Pairs(
            np.concatenate([none, *(s.i for s in sets)]),
            np.concatenate([none, *(s.j for s in sets)]),
            np.concatenate([none, *(s.group for s in sets)]),
            np.concatenate([nothing, *(s.below for s in sets)]),
        )


@dataclass(slots=True)
class Found:
    """Exact answers: core distance and core points, the rounds around them, the solids' numbers and the step."""

    group: Indices
    core: Floats
    here: Floats
    there: Floats
    rounds: tuple[Floats, Floats]
    owners: tuple[Indices, Indices]
    step: Indices


@dataclass(frozen=True, slots=True)
class Met:
    """Two solids whose cores meet."""

    group: int
    here: int
    there: int
    step: int


@dataclass(slots=True)
class Best:
    """The nearest pair of every group: mm, points, numbers of the solids, step; and whose cores meet, and where."""

    mm: Floats
    here: Floats
    there: Floats
    owners: Indices
    step: Indices
    met: dict[Met, Floats] = field(default_factory=dict)

    @staticmethod
    def of(groups: int) -> Best:
        """Nothing found yet."""
        return Best(
            np.full(groups, np.inf), np.zeros((groups, 3)), np.zeros((groups, 3)),
            np.zeros((groups, 2), dtype=np.intp), np.zeros(groups, dtype=np.intp),
        )  # fmt: skip

    def take(self, found: Found) -> None:
        """Keeps what is nearer than what is known; of equals the first."""
        apart = found.core > MEETING_MM
        self._take_met(found, ~apart)
        core = np.where(apart, found.core, 1.0)[:, None]
        unit = (found.there - found.here) / core
        mm = found.core - found.rounds[0] - found.rounds[1]
        here = found.here + unit * found.rounds[0][:, None]
        there = found.there - unit * found.rounds[1][:, None]
        self.offer(Found(found.group, mm, here, there, found.rounds, found.owners, found.step), np.flatnonzero(apart))

    def offer(self, found: Found, rows: Indices) -> None:
        """The same for some rows of answers whose `core` and points have the rounds taken off already."""
        mm = found.core
        rows = rows[np.lexsort((mm[rows], found.group[rows]))]
        group = found.group[rows]
        first = np.ones(len(rows), dtype=np.bool_)
        first[1:] = group[1:] != group[:-1]
        rows = rows[first & (mm[rows] < self.mm[group])]
        g = found.group[rows]
        self.mm[g], self.here[g], self.there[g], self.step[g] = (
            mm[rows], found.here[rows], found.there[rows], found.step[rows],
        )  # fmt: skip
        self.owners[g, 0], self.owners[g, 1] = found.owners[0][rows], found.owners[1][rows]

    def _take_met(self, found: Found, met: Bools) -> None:
        rows = np.flatnonzero(met)
        if not len(rows):
            return
        keys = np.stack((found.group, *found.owners, found.step), axis=1)[rows]
        unique, first = np.unique(keys, axis=0, return_index=True)
        for key, row in zip(unique.tolist(), rows[first].tolist(), strict=True):
            self.met.setdefault(Met(*key), (found.here[row] + found.there[row]) / 2)
