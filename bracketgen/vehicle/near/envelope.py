"""The least gap while something moves, and the smallest move that gives the gap that is missing."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final, Protocol

from bracketgen.geometry.space import Vector, dot, length, minus, plus, scaled, unit
from bracketgen.vehicle.near.gap import Bodies, gap, least_gaps, ways_apart
from bracketgen.vehicle.near.solids import Bow, Gap3, Plate, Solid, Wall, ball_around, shifted

_ZERO: Final = (0.0, 0.0, 0.0)
#: A move whose next step is shorter than this has come to rest.
_AT_REST_MM: Final = 1e-6
#: No run is followed farther that can't find a gap smaller by this. Own choice.
_NEAR_MM: Final = 2e-5
#: Steps of a run that still comes nearer: between slanted solids they are short, and 30 left 0.014 mm of 78 mm.
_MOST_STEPS: Final = 400
#: Pairs of solids that are asked at once.
_BATCH: Final = 64

Named = tuple[str, Solid]


@dataclass(frozen=True, slots=True)
class Mine:
    """Solids that stand still, by name, prepared once for many questions. Walls are not held against walls."""

    named: tuple[Named, ...]
    bodies: Bodies

    @staticmethod
    def of(named: Sequence[Named]) -> Mine:
        """The solids, ready to be asked."""
        return Mine(tuple(named), Bodies.of([solid for _, solid in named]))


#: A position that a thing takes: a word for it, and its solids.
State = tuple[str, Sequence[Solid]]


class Movement(Protocol):
    """The shifts that a thing may take from where it was measured: a convex set."""

    @property
    def reach(self) -> float:
        """The longest shift."""

    def nearest(self, shift: Vector) -> Vector:
        """The allowed shift nearest to any shift."""

    def farthest(self, way: Vector) -> float:
        """How far the shifts reach along a unit direction."""

    def starts(self) -> Sequence[Vector]:
        """Shifts to begin a search from; no shift first."""


@dataclass(frozen=True, slots=True)
class Box:
    """Anything up to `half` to either side along x, y, z: a body on its mounts."""

    half: Vector

    @property
    def reach(self) -> float:
        """To a corner."""
        return length(self.half)

    def nearest(self, shift: Vector) -> Vector:
        """Each axis by itself."""
        x, y, z = (max(-h, min(h, s)) for h, s in zip(self.half, shift, strict=True))
        return (x, y, z)

    def farthest(self, way: Vector) -> float:
        """To the corner on that side."""
        return sum(h * abs(w) for h, w in zip(self.half, way, strict=True))

    def starts(self) -> Sequence[Vector]:
        """The middle, and the ends of every axis."""
        ends = [(self.half[0], 0.0, 0.0), (0.0, self.half[1], 0.0), (0.0, 0.0, self.half[2])]
        return [_ZERO, *(scaled(e, s) for e in ends if any(e) for s in (1.0, -1.0))]


@dataclass(frozen=True, slots=True)
class StraightPath:
    """Straight from nothing to `way`: how something is taken away."""

    way: Vector

    @property
    def reach(self) -> float:
        """Its length."""
        return length(self.way)

    def nearest(self, shift: Vector) -> Vector:
        """The foot on the path."""
        size = dot(self.way, self.way)
        return scaled(self.way, max(0.0, min(1.0, dot(shift, self.way) / size))) if size > 0.0 else _ZERO

    def farthest(self, way: Vector) -> float:
        """To one of its ends."""
        return max(0.0, dot(self.way, way))

    def starts(self) -> Sequence[Vector]:
        """Both ends and the middle."""
        return [_ZERO, scaled(self.way, 0.5), self.way]


STILL: Final = Box(_ZERO)


@dataclass(frozen=True, slots=True)
class Least:
    """The least gap found: `here` on mine, `there` on theirs where it stood then; which solids, state and shift."""

    gap: Gap3
    mine: str
    state: str
    shift: Vector


@dataclass(slots=True)
class _Descent:
    """One solid of mine and one of theirs, followed from shift to shift to where they are nearest."""

    place: int
    mine: Named
    state: str
    theirs: Solid
    shift: Vector = _ZERO
    gap: Gap3 | None = None

    @property
    def hollow(self) -> bool:
        """Whether a solid is not convex: then there may be more than one place that is nearest all around."""
        return isinstance(self.mine[1], Plate | Bow)

    def least(self) -> Least:
        """What it has found so far."""
        assert self.gap is not None
        return Least(self.gap, self.mine[0], self.state, self.shift)

    def below(self, movement: Movement) -> float:
        """No shift gives less than this: the gap of convex solids is a convex function of the shift."""
        assert self.gap is not None
        if self.hollow:
            return self.gap.mm - movement.reach - length(self.shift)
        toward = minus(self.gap.here, self.gap.there)
        if length(toward) <= 0.0:
            return self.gap.mm
        way = unit(toward)
        return self.gap.mm - (movement.farthest(way) - dot(way, self.shift))

    def next(self, movement: Movement) -> Vector | None:
        """The shift that brings theirs nearer, no farther than the gap, so that nothing is jumped; None at rest."""
        assert self.gap is not None
        toward = minus(self.gap.here, self.gap.there)
        size = length(toward)
        if self.gap.mm <= 0.0 or size <= 0.0:
            return None
        new = movement.nearest(plus(self.shift, toward, self.gap.mm / size))
        return new if length(minus(new, self.shift)) >= _AT_REST_MM else None


def least_gap(mine: Mine, states: Sequence[State], movement: Movement = STILL, offset: Vector = _ZERO) -> Least | None:
    """The least gap between mine and theirs in any of their states, shifted in any way the movement allows.

    `offset` is added to every shift of theirs. Each pair of solids that can matter is followed from several starts
    to where it is nearest; for convex solids that is the least of all shifts. None when there is nothing to compare.
    """
    couples = sorted(_couples(mine, states, movement, offset), key=lambda c: c[0])
    best: Least | None = None
    for start in range(0, len(couples), _BATCH):
        runs = [run for below, run in couples[start : start + _BATCH] if best is None or below < best.gap.mm]
        if not runs or (best is not None and best.gap.mm <= 0.0):
            break
        best = _followed(mine, runs, movement, best)
    return best


def _followed(mine: Mine, runs: list[_Descent], movement: Movement, best: Least | None) -> Least | None:
    """The better of `best` and the least that the runs come to, all of them a step at a time."""
    best = _measured(mine, [(run, _ZERO) for run in runs], best)
    more = [replace(run) for run in runs if run.hollow and best is not None and run.below(movement) < best.gap.mm]
    if movement.reach > 0.0 and more:
        others = [(replace(run), start) for run in more for start in movement.starts()[1:]]
        best = _measured(mine, others, best)
        runs = [*runs, *(run for run, _ in others)]
    for _ in range(_MOST_STEPS if movement.reach > 0.0 else 0):
        assert best is not None
        if best.gap.mm <= 0.0:
            break
        least = best.gap.mm
        near = least - _NEAR_MM
        moving = [(r, s) for r in runs if r.below(movement) < near and (s := r.next(movement)) is not None]
        if not moving:
            break
        before = [r.gap for r, _ in moving]
        best = _measured(mine, moving, best)
        runs = [r for (r, _), g in zip(moving, before, strict=True) if r.gap is not None and g and r.gap.mm < g.mm]
    return best


def _measured(mine: Mine, asked: list[tuple[_Descent, Vector]], best: Least | None) -> Least | None:
    """Every run at its new shift; the better of `best` and what they are."""
    theirs = Bodies.of([shifted(run.theirs, shift) if any(shift) else run.theirs for run, shift in asked])
    found = least_gaps(mine.bodies, theirs, [(run.place, k, k) for k, (run, _) in enumerate(asked)], len(asked))
    for (run, shift), g in zip(asked, found, strict=True):
        assert g is not None
        run.shift, run.gap = shift, g
        if best is None or g.mm < best.gap.mm:
            best = run.least()
    return best


def _couples(
    mine: Mine, states: Sequence[State], movement: Movement, offset: Vector
) -> Iterator[tuple[float, _Descent]]:
    """Every pair of solids, after a length that their gap can't be below."""
    for state, solids in states:
        for b in solids:
            placed = shifted(b, offset) if any(offset) else b
            for place, named in enumerate(mine.named):
                yield _apart_at_least(named[1], placed) - movement.reach, _Descent(place, named, state, placed)


def _apart_at_least(a: Solid, b: Solid) -> float:
    mine, theirs = ball_around(a), ball_around(b)
    if mine is not None and theirs is not None:
        return length(minus(mine[0], theirs[0])) - mine[1] - theirs[1]
    for wall, ball in ((a, theirs), (b, mine)):
        if isinstance(wall, Wall) and ball is not None:
            return dot(minus(ball[0], wall.point), wall.normal) - ball[1]
    return -math.inf


# -- the smallest move that mends


#: Ways that are tried to get out of a thing, beside the shortest ways out of the solids that meet.
_AXES: Final = tuple((s * x, s * y, s * z) for x, y, z in ((1, 0, 0), (0, 1, 0), (0, 0, 1)) for s in (1.0, -1.0))
_ROUNDS: Final = 12
#: A move is good when no more than this is missing, mm.
_GOOD_MM: Final = 1e-3


@dataclass(frozen=True, slots=True)
class Parting:
    """What is to be parted: mine from theirs with its states and movement, to `needed` mm."""

    mine: Mine
    states: Sequence[State]
    movement: Movement
    needed: float

    def missing(self, move: Vector) -> tuple[float, Least | None]:
        """How much is missing after mine has moved; below 0 = to spare."""
        least = least_gap(self.mine, self.states, self.movement, scaled(move, -1.0))
        return (-math.inf if least is None else self.needed - least.gap.mm), least


def smallest_move(task: Parting) -> Vector | None:
    """The shortest move of mine, found by following the gap's direction, that gives what is needed; None: none found.

    The move was tried: after it the gap is there, to within 0.001 mm.
    """
    if not math.isfinite(task.needed):
        return None
    _, least = task.missing(_ZERO)
    if least is None or least.gap.mm > 0.0:
        tried = [_pushed(task, _ZERO)]
    else:
        # They meet: no gap shows the way.
        tried = [_pushed(task, out) for out in _ways_out(task, least)]
        tried += [_out_along(task, way) for way in _AXES]
    good = [move for move in tried if move is not None]
    return _shortened(task, min(good, key=length)) if good else None


def _ways_out(task: Parting, least: Least) -> Iterator[Vector]:
    """Moves that may get mine out of the one that it is deepest in."""
    theirs = [shifted(s, least.shift) for state, solids in task.states if state == least.state for s in solids]
    couples = [(a, b) for name, a in task.mine.named if name == least.mine for b in theirs]
    depths = [gap(a, b).mm for a, b in couples]
    for out in ways_apart(*couples[depths.index(min(depths))]):
        mm = length(out)
        if mm > 0.0:
            yield scaled(out, (mm + _GOOD_MM / 2) / mm)


def _pushed(task: Parting, move: Vector) -> Vector | None:
    """Moved on along the gap, again and again by what is still missing."""
    for _ in range(_ROUNDS):
        missing, least = task.missing(move)
        if missing <= _GOOD_MM:
            return move
        assert least is not None
        away = minus(least.gap.here, least.gap.there)
        if least.gap.mm <= 0.0 or length(away) <= 0.0:
            return None
        move = plus(move, unit(away), missing + _GOOD_MM / 2)
    return None


def _out_along(task: Parting, way: Vector) -> Vector | None:
    """From far outside back along a line, never farther than what is to spare, until nothing is."""
    far = _far(task)
    for _ in range(4 * _ROUNDS):
        missing, _least = task.missing(scaled(way, far))
        if missing > _GOOD_MM:
            return None
        if missing > -_GOOD_MM:
            break
        far += missing
    return scaled(way, far)


def _far(task: Parting) -> float:
    """Beyond this any two of their solids are apart by what is needed; walls have only one free side."""
    balls = [b for b in (ball_around(s) for _, s in task.mine.named) if b is not None]
    theirs = [s for _, solids in task.states for s in solids]
    others = [b for b in map(ball_around, theirs) if b is not None]
    apart = [length(minus(a[0], b[0])) + a[1] + b[1] for a in balls for b in others]
    apart += [a[1] - dot(minus(a[0], w.point), w.normal) for a in balls for w in theirs if isinstance(w, Wall)]
    mine = [s for _, s in task.mine.named if isinstance(s, Wall)]
    apart += [b[1] - dot(minus(b[0], w.point), w.normal) for b in others for w in mine]
    return max([0.0, *apart]) + task.needed + task.movement.reach + 1.0


def _shortened(task: Parting, move: Vector) -> Vector:
    """Slides a good move along what holds it toward no move at all."""
    for _ in range(_ROUNDS):
        missing, least = task.missing(move)
        away = minus(least.gap.here, least.gap.there) if least is not None else _ZERO
        if length(away) <= 0.0:
            break
        way = unit(away)
        shorter = scaled(way, dot(way, move) + missing)
        if length(shorter) >= length(move) - _GOOD_MM or task.missing(shorter)[0] > _GOOD_MM:
            break
        move = shorter
    return move
