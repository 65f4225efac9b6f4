"""What is in the way of what is taken away, leg by leg; a tilt is followed so that nothing is stepped over."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

from bracketgen.findings import Finding, Level
from bracketgen.geometry.space import Vector, length, minus, scaled
from bracketgen.rules.engine import short_of
from bracketgen.rules.in_place import REMOVAL
from bracketgen.vehicle.near.clearance import move_words, spot
from bracketgen.vehicle.near.envelope import (
    STILL,
    Least,
    Mine,
    Parting,
    State,
    StraightPath,
    least_gap,
    smallest_move,
)
from bracketgen.vehicle.near.gap import Bodies, mm_at
from bracketgen.vehicle.near.motion import Leg, Straight, Tilt
from bracketgen.vehicle.near.scene import PART, Role, Scene, Standing
from bracketgen.vehicle.near.solids import Solid, moved

#: As near as this counts as touching, mm.
TOUCH_MM: Final = 1e-3
#: The least gap is found this closely, on the safe side, mm. Along a flat side a closer look takes its time.
CLOSELY_MM: Final = 0.05
_FIRST_LOOK: Final = 33
#: With so many poses looked at and still a doubt, the way counts as stopped there.
_MOST_LOOKS: Final = 20_000

#: The gaps at shares of the leg; -inf where solids meet.
Gaps = Callable[[Sequence[float]], Sequence[float]]


def gaps_on(tilt: Tilt, solids: Sequence[Solid], still: Bodies) -> Gaps:
    """The gap between what stands still and the solids (given as they hung) at shares of the leg, mm."""

    return lambda shares: mm_at(still, solids, [tilt.pose(share) for share in shares], depths=False)


def first_touch(gaps: Gaps, reach_mm: float) -> float | None:
    """The share of the leg after which it touches; None when it is free all along."""
    known = _looked_at(gaps)
    while len(known) < _MOST_LOOKS:
        until = min((s for s, mm in known.items() if mm <= TOUCH_MM), default=1.0)
        shares = sorted(s for s in known if s <= until)
        wide = TOUCH_MM / max(reach_mm, TOUCH_MM)
        asked = [
            (a + b) / 2
            for a, b in pairwise(shares)
            if (known[b] <= TOUCH_MM and b - a > wide)
            or (known[b] > TOUCH_MM and known[a] + known[b] <= reach_mm * (b - a))
        ]
        if not asked:
            return None if known[until] > TOUCH_MM else max((s for s in shares if s < until), default=0.0)
        known |= dict(zip(asked, gaps(asked), strict=True))
    shares = sorted(known)
    doubtful = (a for a, b in pairwise(shares) if known[a] + known[b] <= reach_mm * (b - a))
    return next(doubtful, None)


def least_on_way(gaps: Gaps, reach_mm: float) -> float:
    """The least gap on the whole leg, to within CLOSELY_MM and never above it; -inf where it meets something."""
    known = _looked_at(gaps)
    while True:
        best = min(known.values())
        if best <= 0.0:
            return -math.inf
        pairs = list(pairwise(sorted(known)))
        below = {(a, b): (known[a] + known[b] - reach_mm * (b - a)) / 2 for a, b in pairs}
        asked = [(a + b) / 2 for (a, b), low in below.items() if low < best - CLOSELY_MM]
        if not asked or len(known) > _MOST_LOOKS:
            return min([best, *below.values()])
        known |= dict(zip(asked, gaps(asked), strict=True))


def _looked_at(gaps: Gaps) -> dict[float, float]:
    shares = [k / (_FIRST_LOOK - 1) for k in range(_FIRST_LOOK)]
    return dict(zip(shares, gaps(shares), strict=True))


_NEAR_MM: Final = 1e-3
_MOST_STEPS: Final = 200
#: Places along its way at which a thing that touches from the start is looked at.
_LOOKS: Final = 25
#: A way is free with this much on all sides, mm.
_FREE_MM: Final = 0.1
#: Poses of a tilt between which a move that mends is looked for.
_POSES: Final = 33


@dataclass(frozen=True, slots=True)
class Blocked:
    """A thing that can't be taken away: on which leg of its way (0 = the first), and what stops it.

    `free` of the leg's `way` it gets, mm when straight, degrees when tilted. `move` is the shortest move of what stops
    it that clears the leg (None: none found).
    """

    thing: Standing
    stopped_by: str
    leg: int
    free: float
    way: float
    least: Least
    move: Vector | None

    @property
    def tilts(self) -> bool:
        """Whether it is stopped while it tilts."""
        return isinstance(self.thing.legs[self.leg], Tilt)

    @property
    def unit(self) -> str:
        """Of `free` and `way`."""
        return "deg" if self.tilts else "mm"


def blocked(scene: Scene, *, by_part_only: bool = False) -> tuple[Blocked, ...]:
    """Every thing whose way out is stopped by the part, by what is carried, or by a neighbour.

    Old neighbours that stop each other are not the part's doing and are left out.
    """
    found = []
    for thing in scene.things:
        if not thing.legs:
            continue
        # A carried thing is taken off its own fellows; how that goes is theirs to know.
        touching = scene.placed.hung if thing.role is Role.CARRIED and not thing.kind.gap_mm else ()
        for name, obstacle in scene.beside(thing, touching, fellows=False):
            one = _blocked(thing, name, Mine.of(obstacle)) if name == PART or not by_part_only else None
            if one is not None:
                found.append(one)
    return tuple(found)


def _blocked(thing: Standing, name: str, obstacle: Mine) -> Blocked | None:
    """The first leg on which the thing is stopped."""
    start = least_gap(obstacle, [("", thing.solids)])
    # What meets before anything moves is a matter of the gap.
    if start is None or short_of(start.gap.mm, 0.0):
        return None
    for n, leg in enumerate(thing.legs):
        one = _on_straight(thing, n, leg, name, obstacle) if isinstance(leg, Straight) else None
        if isinstance(leg, Tilt):
            one = _on_tilt(thing, n, leg, name, obstacle)
        if one is not None:
            return one
    return None


def _states(thing: Standing, leg: Leg, shares: tuple[float, ...] = (0.0,)) -> list[State]:
    """The thing at shares of a leg."""
    return [("on its way out", [moved(s, leg.pose(share)) for s in thing.solids]) for share in shares]


def _on_straight(thing: Standing, n: int, leg: Straight, name: str, obstacle: Mine) -> Blocked | None:
    states, free = _states(thing, leg), _free_mm(thing, leg, obstacle)
    if free >= length(leg.way):
        return None
    # It touches from the start, slides past close by, or is stopped.
    least = least_gap(obstacle, states, StraightPath(leg.way))
    if least is None or least.gap.mm > _NEAR_MM:
        return None
    start = least_gap(obstacle, states)
    if start is not None and start.gap.mm <= _NEAR_MM and _runs_in(thing, leg, obstacle) is None:
        return None
    move = smallest_move(Parting(obstacle, states, StraightPath(leg.way), _FREE_MM))
    return Blocked(thing, name, n, free, length(leg.way), least, move)


def _runs_in(thing: Standing, leg: Leg, obstacle: Mine) -> float | None:
    """Where a thing that touches from the start goes deeper on its way, instead of leaving or sliding along."""
    for k in range(1, _LOOKS + 1):
        here = least_gap(obstacle, _states(thing, leg, (k / _LOOKS,)))
        if here is not None and here.gap.mm < -_NEAR_MM:
            return k / _LOOKS
    return None


def _free_mm(thing: Standing, leg: Straight, obstacle: Mine) -> float:
    """How far the thing gets: forward by the gap again and again, which can't step over anything."""
    states, whole, done = _states(thing, leg), length(leg.way), 0.0
    for _ in range(_MOST_STEPS):
        here = least_gap(obstacle, states, offset=scaled(leg.way, done / whole))
        if here is None or here.gap.mm <= _NEAR_MM or done >= whole:
            break
        done = min(whole, done + here.gap.mm)
    return done


def _on_tilt(thing: Standing, n: int, leg: Tilt, name: str, obstacle: Mine) -> Blocked | None:
    free: float | None
    deeper: float | None = None
    start, reach = least_gap(obstacle, _states(thing, leg)), leg.reach_mm(thing.solids)
    if start is None or start.gap.mm > reach + TOUCH_MM:
        return None
    if start.gap.mm <= _NEAR_MM:
        deeper = _runs_in(thing, leg, obstacle)
        free = None if deeper is None else 0.0
    else:
        free = first_touch(gaps_on(leg, thing.solids, obstacle.bodies), reach)
    if free is None:
        return None
    least = least_gap(obstacle, _states(thing, leg, (free if deeper is None else deeper,)))
    assert least is not None
    move = _mending(thing, leg, obstacle)
    return Blocked(thing, name, n, free * leg.turn_deg, leg.turn_deg, least, move)


def _mending(thing: Standing, leg: Tilt, obstacle: Mine) -> Vector | None:
    """The shortest move of what is in the way that frees the tilt, tried on the whole of it."""
    reach, step = leg.reach_mm(thing.solids), 1.0 / (_POSES - 1)
    states = _states(thing, leg, tuple(k * step for k in range(_POSES)))
    bulge = reach * math.radians(leg.turn_deg) * step * step / 8
    # What is flat or round is cleared by what an arc bulges over its chord; what is sharp may reach between two poses.
    for more in (bulge, reach * step / 2):
        move = smallest_move(Parting(obstacle, states, STILL, _FREE_MM + more))
        if move is None or _free_after(thing, leg, obstacle, move):
            return move
    return None


def _free_after(thing: Standing, leg: Tilt, obstacle: Mine, move: Vector) -> bool:
    """Whether the tilt is free when the obstacle is moved, which is the same as the thing moved the other way."""
    start = replace(leg.start, origin=minus(leg.start.origin, move))
    other = replace(leg, start=start, pivot=minus(leg.pivot, move))
    return first_touch(gaps_on(other, thing.solids, obstacle.bodies), leg.reach_mm(thing.solids)) is None


def removal_finding(one: Blocked) -> Finding:
    """Rule removal."""
    who = "the part" if one.stopped_by == PART else f"'{one.stopped_by}'"
    what = one.least.mine if one.stopped_by == PART else who
    legs = len(one.thing.legs)
    remedy = f"leg {one.leg + 1} of {legs} of its way out: " if legs > 1 else ""
    remedy += f"it tilts {one.free:.1f} degrees" if one.tilts else f"it comes {one.free:.1f} mm out"
    remedy += f", then {what} is in the way at {spot(one.least.gap.here)}: "
    remedy += move_words(PART if one.stopped_by == PART else one.stopped_by, one.move)
    return REMOVAL.finding(Level.FAIL, one.thing.title, one.free, one.way, None, remedy, unit=one.unit)
