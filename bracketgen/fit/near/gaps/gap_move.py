"""The smallest straight move that gives two solids the gap they need."""

from __future__ import annotations

import math

import numpy as np

from bracketgen.fit.near.gaps.gap import gap
from bracketgen.fit.near.gaps.gap_depth import spread_ways, way_out, ways_to_axes
from bracketgen.fit.near.gaps.gap_sides import Asked, Depth, Side, search
from bracketgen.fit.near.gaps.solids import Block, Capsule, Drum, Gap3, Solid, Wall
from bracketgen.fit.near.gaps.support import Floats
from bracketgen.geometry.frame import Frame, Vector

#: A move is good when no more than this is missing, mm.
GOOD_MM = 1e-5
_MOST_PUSHES = 12
_WAYS = 60
_STATIONS = 18
_RATIO = 0.7
_HALVINGS = 24


def smallest_move(a: Solid, b: Solid, required_mm: float) -> Vector:
    """The move of `a` (its opposite for b) after which the two are at least `required_mm` (0 or more) apart; mm.

    Zero where they are already. Where a single push along the gap does it, no shorter move does; of convex solids that
    meet the move is the shortest to within two hundredths. In hollows (a bolt in a hole, a pipe in a bend) ways all
    around are tried, and the shortest move found is given; there may be a shorter one. After the move no more than
    GOOD_MM is missing: it was tried. Errors: ValueError for two walls that no straight move parts, and for a required
    gap below 0.
    """
    if required_mm < 0:
        raise ValueError("a required gap is 0 or more")
    if isinstance(a, Wall) and isinstance(b, Wall):
        return _between_walls(a, b, required_mm)
    question = _Question(a, b, required_mm)
    now = question.gaps_after(np.zeros((1, 3)))[0]
    if now.mm >= required_mm - GOOD_MM:
        return (0.0, 0.0, 0.0)
    # The gap can't grow faster than the move: a first push that does it is the shortest.
    pushed, pushes = question.pushed(now)
    if pushed is not None and pushes == 1:
        return _vector(pushed)
    out = question.lifted_out()
    if all(isinstance(s, Capsule | Drum | Block) for s in (a, b)):
        return _vector(out)
    found = [m for m in (out, pushed) if m is not None]
    return _vector(question.looked_around(min(found, key=_length), np.array(now.here)))


def _between_walls(a: Wall, b: Wall, required_mm: float) -> Vector:
    mm = gap(a, b).mm
    if math.isinf(mm):
        raise ValueError("two walls that are not parallel meet wherever they stand")
    return _vector(-np.array(a.normal) * max(required_mm - mm, 0.0))


def _length(v: Floats) -> float:
    return float(np.linalg.norm(v))


def _vector(v: Floats) -> Vector:
    x, y, z = v.tolist()
    return (x, y, z)


class _Question:
    """`a`, which moves, `b`, which stands still, and the gap they need."""

    def __init__(self, a: Solid, b: Solid, required_mm: float) -> None:
        self._a, self._still, self._required = a, Side.of((b,)), required_mm

    def gaps_after(self, moves: Floats) -> list[Gap3]:
        """The gap after each of the moves, from b (`here`) to a (`there`)."""
        frames = tuple(Frame(_vector(m)) for m in moves)
        moved, asked = Side.of((self._a,), (frames,)), [Asked(0, 0, 0, stride=1)]
        gaps, _ = search(self._still, moved, asked, len(frames), Depth.LEFT_OUT)
        return [g if g is not None else Gap3(-math.inf, (0.0, 0.0, 0.0), (0.0, 0.0, 0.0)) for g in gaps]

    def good(self, moves: Floats) -> list[bool]:
        """Whether each of the moves does it."""
        return [g.mm >= self._required - GOOD_MM for g in self.gaps_after(moves)]

    def pushed(self, now: Gap3) -> tuple[Floats | None, int]:
        """Pushed along the gap by what is missing, again and again; how often it took."""
        move = np.zeros(3)
        for pushes in range(1, _MOST_PUSHES + 1):
            apart = np.array(now.there) - np.array(now.here)
            if _length(apart) == 0 or math.isinf(now.mm):
                break
            way = apart / _length(apart) * (1.0 if now.mm > 0 else -1.0)
            move = move + way * (self._required - now.mm)
            now = self.gaps_after(move[None])[0]
            if now.mm >= self._required - GOOD_MM:
                return move, pushes
        return None, _MOST_PUSHES

    def lifted_out(self) -> Floats:
        """Until a plane parts the hulls."""
        way, width = way_out(self._still.pieces, Side.of((self._a,)).pieces)
        return way * (width + self._required)

    def looked_around(self, known: Floats, met: Floats) -> Floats:
        """The shortest good move found on ways all around that is shorter than the one known, or that one.

        `met` is where the two are nearest or meet: hollows are left toward their axes.
        """
        longest = _length(known)
        own = [ways_to_axes(s.pieces, met) for s in (self._still, Side.of((self._a,)))]
        ways = np.concatenate((known[None] / longest, *own, np.eye(3), -np.eye(3), spread_ways(_WAYS)))
        stations = longest * _RATIO ** np.arange(_STATIONS - 1, -1, -1)
        moves = (ways[:, None, :] * stations[:, None]).reshape(-1, 3)
        good = np.array(self.good(moves)).reshape(len(ways), _STATIONS)
        first = np.where(good.any(axis=1), good.argmax(axis=1), _STATIONS)
        if first.min() == _STATIONS:
            return known
        at = int(first.min())
        bad = float(stations[at - 1]) if at else 0.0
        best = [self._shortened(ways[k], bad, float(stations[at])) for k in np.flatnonzero(first == at)]
        return min((*best, known), key=_length)

    def _shortened(self, way: Floats, bad: float, good: float) -> Floats:
        for _ in range(_HALVINGS):
            middle = (bad + good) / 2
            bad, good = (bad, middle) if self.good((way * middle)[None])[0] else (middle, good)
        return way * good
