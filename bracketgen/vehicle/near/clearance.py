"""Every pair of the scene held against the gap it needs, cold and hot, still and moved."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from bracketgen.geometry.space import Vector, plus
from bracketgen.rules.rule import short_of
from bracketgen.vehicle.near.envelope import Box, Least, Mine, Named, State, Task, least_gap, smallest_move
from bracketgen.vehicle.near.gaps.gap import gap
from bracketgen.vehicle.near.gaps.solids import Capsule
from bracketgen.vehicle.near.motion import STILL, Travel
from bracketgen.vehicle.near.required import Motion, Needed, needed_between, needed_for_heat, needed_to_part
from bracketgen.vehicle.near.scene import Scene, Standing
from bracketgen.vehicle.seating.mates import CARRIED, Bolted

#: How findings call the part with its bolts.
PART: Final = "part"
#: A bolt's hole this near to a neighbour lies on it: the part is bolted to that very thing.
_ON_IT_MM: Final = 1.0
_BOLTED: Final = Needed(0.0, "solids can't share room")


@dataclass(frozen=True, slots=True)
class PairCheck:
    """Two things and the least gap between them.

    `needed` is what they must keep, `heat` what heat asks of them (None where it does not matter), `move` the
    shortest move of the first that gives what is missing (None: nothing is missing, or no move was found).
    """

    a: str
    b: str
    least: Least
    travel: Travel
    needed: Needed
    heat: Needed | None
    move: Vector | None

    @property
    def gap_mm(self) -> float:
        """The least gap."""
        return self.least.gap.mm

    @property
    def short(self) -> bool:
        """Whether the gap is too small. One that nobody knows is another matter, unless the things meet."""
        return short_of(self.gap_mm, self.needed.mm or 0.0)

    @property
    def too_hot(self) -> bool:
        """Whether heat asks for more than there is."""
        return self.heat is not None and self.heat.mm is not None and short_of(self.gap_mm, self.heat.mm)


def pair_checks(scene: Scene) -> tuple[PairCheck, ...]:
    """The part with every thing, then every carried thing with every neighbour."""
    checks = [_part_and_neighbour(scene, thing) for thing in scene.neighbours]
    checks += [_part_and_carried(scene, thing) for thing in scene.carried]
    checks += [_two_things(scene, a, b) for a in scene.carried for b in scene.neighbours]
    return tuple(c for c in checks if c is not None)


def _part_and_neighbour(scene: Scene, thing: Standing) -> PairCheck | None:
    travel = scene.travel_to(thing.body)
    seated = [b for b in scene.vehicle_bolts() if _lies_on(b, thing)]
    if not seated:
        needed = needed_to_part(thing.kind, _motion(travel, thing))
        return _checked(
            PART, thing.title, [*metal_pieces(scene), *bolt_solids(scene)], thing.states, travel, needed, None
        )
    # What is bolted down touches; the rest of the part only must not run into it.
    mine = [*metal_pieces(scene, seated), *bolt_solids(scene, seated)]
    return _checked(PART, thing.title, mine, thing.states, travel, _BOLTED, None)


def _part_and_carried(scene: Scene, thing: Standing) -> PairCheck | None:
    hung = [b for b in scene.placed.bolts if b.mate.startswith(CARRIED)]
    stated = thing.kind.gap_mm
    if stated:
        mine = [*metal_pieces(scene), *bolt_solids(scene, hung)]
        return _checked(PART, thing.title, mine, thing.states, STILL, needed_to_part(thing.kind, Motion.TOGETHER), None)
    mine = [*metal_pieces(scene, hung), *bolt_solids(scene, hung)]
    return _checked(PART, thing.title, mine, thing.states, STILL, _BOLTED, None)


def _two_things(scene: Scene, a: Standing, b: Standing) -> PairCheck | None:
    travel = scene.travel_to(b.body)  # what is carried moves with the part
    motion = Motion.APART if Motion.APART in (_motion(travel, a), _motion(travel, b)) else Motion.TOGETHER
    needed = needed_between(a.kind, b.kind, motion)
    found = None
    for state, solids in a.states:
        mine: list[Named] = [(f"{a.title}, {state}" if a.growth else a.title, s) for s in solids]
        one = _checked(a.title, b.title, mine, b.states, travel, needed, _heat(a, b))
        if one is not None and (found is None or one.gap_mm < found.gap_mm):
            found = one
    return found


def _heat(a: Standing, b: Standing) -> Needed | None:
    """What heat asks of two things, whichever of them is the hot one."""
    asked = [needed_for_heat(hot.kind, hot.solids[0], cold.kind) for hot, cold in ((a, b), (b, a))]
    return max((n for n in asked if n is not None and n.mm is not None), key=lambda n: n.mm or 0.0, default=None)


def _motion(travel: Travel, thing: Standing) -> Motion:
    return Motion.APART if travel.moves or thing.growth is not None else Motion.TOGETHER


def _checked(
    a: str, b: str, mine: Sequence[Named], states: Sequence[State], travel: Travel, needed: Needed, heat: Needed | None
) -> PairCheck | None:
    movement, prepared = Box(travel.mm), Mine.of(mine)
    least = least_gap(prepared, states, movement)
    if least is None:
        return None
    check = PairCheck(a, b, least, travel, needed, heat, None)
    if not (check.short or check.too_hot):
        return check
    asked = max(n.mm or 0.0 for n in (needed, heat) if n is not None)
    move = smallest_move(Task(prepared, states, movement, asked))
    return PairCheck(a, b, least, travel, needed, heat, move)


def _lies_on(bolt: Bolted, thing: Standing) -> bool:
    """Whether the bolt's mating hole is in the thing's surface, not deep inside it."""
    foot = plus(bolt.wanted, bolt.axis, -bolt.shim_mm)
    spot = Capsule(foot, plus(foot, bolt.axis, 1e-3), _ON_IT_MM)
    return any(-2 * _ON_IT_MM <= gap(spot, solid).mm <= 0.0 for solid in thing.solids)


def metal_pieces(scene: Scene, seated: Sequence[Bolted] = ()) -> Iterator[Named]:
    """The part's metal, less the panels that are bolted down and the bends that rise from them."""
    down = {b.panel for b in seated}
    rising = {b.id for b in scene.placed.folded.part.bends if b.parent in down or b.child in down}
    bends = {b.id for b in scene.placed.folded.part.bends}
    for name, solid in scene.metal:
        if name not in down | rising:
            yield (name if name in bends else f"panel {name}"), solid


def bolt_solids(scene: Scene, seated: Sequence[Bolted] = ()) -> Iterator[Named]:
    """Heads, nuts and washers; of bolts that go into the thing itself only what stands on the part's free side."""
    for bolt in scene.bolts:
        for name, solid in bolt.over if bolt.bolt in seated else bolt.all:
            yield f"{name} of {bolt.bolt.part_hole}", solid
