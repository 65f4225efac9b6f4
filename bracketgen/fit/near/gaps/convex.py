"""The distance between convex pieces, many pairs at a time.

Gilbert, Johnson, Keerthi: A fast procedure for computing the distance between complex objects in three-dimensional
space, IEEE Journal of Robotics and Automation 4 (1988), no. 2: the nearest point of the difference of two convex
bodies to the origin, approached by simplices of at most four support points. Every round gives a point (distance from
above) and a plane between the bodies (distance from below); the search ends when the two agree.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bracketgen.fit.near.gaps.convex_simplex import nearest_to_origin
from bracketgen.fit.near.gaps.support import Bools, Floats, Indices, Pieces, dots, farthest, lengths

#: The distance from above and from below agree to this, mm.
AGREED_MM = 1e-7
#: Cores nearer than this count as meeting, mm.
MEETING_MM = 1e-9
MOST_ROUNDS = 150


@dataclass(slots=True)
class Distances:
    """One row a pair: core distance from above and from below (0: the cores meet) and the two core points, mm."""

    above: Floats
    below: Floats
    here: Floats
    there: Floats


@dataclass(slots=True)
class Limits:
    """Pairs belong to a group; a pair that lies farther apart than the least of its group is given up.

    `least` holds a distance from above for every group and is lowered on the way; a pair's distance is its core
    distance less `rounds`, and `allowance` is what its hulls may be behind the true solids.
    """

    group: Indices
    least: Floats
    rounds: Floats
    allowance: Floats

    def hopeless(self, row: Indices, above: Floats, below: Floats) -> Bools:
        """Lowers the groups' least; which pairs can no longer be the nearest of their group."""
        group, rounds = self.group[row], self.rounds[row]
        np.minimum.at(self.least, group, above - rounds + self.allowance[row])
        # Pairs that may meet are followed to the end, whatever else lies deeper.
        beaten: Bools = below - rounds > np.maximum(self.least[group], 0.0) + AGREED_MM
        return beaten


@dataclass(slots=True)
class _State:
    """The pairs that are still being worked on: simplex corners on either body, and their shares in the nearest."""

    row: Indices
    i: Indices
    j: Indices
    here: Floats
    there: Floats
    shares: Floats
    v: Floats
    size: Floats
    below: Floats

    def keep(self, chosen: Bools) -> None:
        for name in self.__slots__:
            setattr(self, name, getattr(self, name)[chosen])


def distances(
    p: Pieces, i: Indices, q: Pieces, j: Indices, first: Floats, limits: Limits | None = None,
    most_rounds: int = MOST_ROUNDS,
) -> Distances:  # fmt: skip
    """Core distance of piece `i[n]` of p and `j[n]` of q; `first` (n, 3), not zero, is a guess of the way from p to q.

    Pairs that were given up have a distance from below only (above: infinite). With few rounds, the two distances
    need not agree yet.
    """
    n = len(i)
    result = Distances(np.full(n, np.inf), np.zeros(n), np.zeros((n, 3)), np.zeros((n, 3)))
    if n == 0:
        return result
    state = _started(p, i, q, j, first)
    for _ in range(most_rounds):
        ended = np.zeros(len(state.row), dtype=np.bool_)
        if limits is not None:
            ended = limits.hopeless(state.row, state.size, state.below)
            result.below[state.row[ended]] = state.below[ended]
            state.keep(~ended)
        ended = _improve(p, q, state)
        _note(state, ended, result)
        state.keep(~ended)
        if not len(state.row):
            return result
    _note(state, np.ones(len(state.row), dtype=np.bool_), result)
    return result


def _started(p: Pieces, i: Indices, q: Pieces, j: Indices, first: Floats) -> _State:
    n = len(i)
    here, there = farthest(p, i, first), farthest(q, j, -first)
    v = here - there
    # The plane square to the first guess already parts most pairs.
    below = np.maximum(-dots(first, v) / lengths(first), 0.0)
    shares = np.zeros((n, 4))
    shares[:, 0] = 1.0
    return _State(np.arange(n), i, j, _four(here), _four(there), shares, v, lengths(v), below)


def _four(a: Floats) -> Floats:
    return np.repeat(a[:, None, :], 4, axis=1)


def _improve(p: Pieces, q: Pieces, s: _State) -> Bools:
    """One more support point for every pair; which pairs are done."""
    here, there = farthest(p, s.i, -s.v), farthest(q, s.j, s.v)
    low = dots(s.v, here - there) / np.maximum(s.size, MEETING_MM)
    s.below = np.maximum(s.below, low)
    done: Bools = (s.size < MEETING_MM) | (s.size - s.below <= AGREED_MM)
    spare = (s.shares <= 0)[:, :, None]
    all_here, all_there = np.where(spare, here[:, None], s.here), np.where(spare, there[:, None], s.there)
    shares, inside = nearest_to_origin(all_here - all_there)
    v = np.matmul(shares[:, None, :], all_here - all_there)[:, 0]
    size = np.where(inside, 0.0, lengths(v))
    # Rounding may keep a pair from getting any nearer: then what it has is as good as it gets.
    done |= size >= s.size
    go_on = ~done
    s.here[go_on], s.there[go_on], s.shares[go_on] = all_here[go_on], all_there[go_on], shares[go_on]
    s.v[go_on], s.size[go_on] = v[go_on], size[go_on]
    return done


def _note(s: _State, ended: Bools, result: Distances) -> None:
    row, shares = s.row[ended], s.shares[ended][:, None, :]
    met = s.size[ended] < MEETING_MM
    result.above[row] = np.where(met, 0.0, s.size[ended])
    result.below[row] = np.where(met, 0.0, s.below[ended])
    result.here[row] = np.matmul(shares, s.here[ended])[:, 0]
    result.there[row] = np.matmul(shares, s.there[ended])[:, 0]
