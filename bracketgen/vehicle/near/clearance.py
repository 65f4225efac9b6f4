"""Every pair of the scene held against the gap it needs, cold and hot, still and moved; and what was assumed for it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from bracketgen.findings import Finding, Level
from bracketgen.geometry.space import Vector, length, plus, unit
from bracketgen.rules.engine import NO_SOURCE, cited, short_of, up_mm
from bracketgen.rules.in_place import GAP, GROWTH, HEAT, TRAVEL
from bracketgen.standards.vehicle import body_travel
from bracketgen.vehicle.near.envelope import Box, Least, Mine, Named, Parting, State, least_gap, smallest_move
from bracketgen.vehicle.near.gap import gap
from bracketgen.vehicle.near.joints import joint_findings
from bracketgen.vehicle.near.motion import MEASURED_AT_C, STILL, Travel, travel_of
from bracketgen.vehicle.near.required import Motion, Needed, needed_between, needed_for_heat, needed_to_part
from bracketgen.vehicle.near.scene import PART, Scene, Standing
from bracketgen.vehicle.near.solids import Capsule
from bracketgen.vehicle.seating.bolts import Bolted
from bracketgen.vehicle.site import PipeTable

#: A bolt's hole this near to a neighbour lies on it: the part is bolted to that very thing.
_ON_IT_MM: Final = 1.0
_BOLTED: Final = Needed(0.0, "solids can't share room")
#: Heat that asks for more than this asks for a shield (own choice).
_ENOUGH_MM: Final = 2000.0


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
    found = [_two_things(scene, a, b) for a in scene.carried for b in scene.neighbours]
    return (*part_checks(scene), *(c for c in found if c is not None))


def part_checks(scene: Scene, moves: bool = True) -> tuple[PairCheck, ...]:
    """The part with every neighbour, then with every carried thing; `moves` also looks for the move that mends."""
    found = [_part_and_neighbour(scene, thing, moves) for thing in scene.neighbours]
    found += [_part_and_carried(scene, thing, moves) for thing in scene.carried]
    return tuple(c for c in found if c is not None)


def _part_and_neighbour(scene: Scene, thing: Standing, moves: bool) -> PairCheck | None:
    travel = scene.travel_to(thing.body)
    down = [b for b in scene.placed.seated if _lies_on(b, thing)]
    # What is bolted down touches; the rest of the part only must not run into it.
    needed = _BOLTED if down else needed_to_part(thing.kind, _motion(travel, thing))
    return _checked(PART, thing.title, scene.part_solids(down, down), thing.states, travel, needed, None, moves)


def _part_and_carried(scene: Scene, thing: Standing, moves: bool) -> PairCheck | None:
    hung = scene.placed.hung
    stated = bool(thing.kind.gap_mm)
    needed = needed_to_part(thing.kind, Motion.TOGETHER) if stated else _BOLTED
    mine = scene.part_solids(() if stated else hung, hung)
    return _checked(PART, thing.title, mine, thing.states, STILL, needed, None, moves)


def _two_things(scene: Scene, a: Standing, b: Standing) -> PairCheck | None:
    travel = scene.travel_to(b.body)  # what is carried moves with the part
    motion = Motion.APART if Motion.APART in (_motion(travel, a), _motion(travel, b)) else Motion.TOGETHER
    needed = needed_between(a.kind, b.kind, motion)
    found = None
    for state, solids in a.states:
        mine: list[Named] = [(f"{a.title}, {state}" if a.growth else a.title, s) for s in solids]
        one = _checked(
            a.title, b.title, mine, b.states, travel, needed, needed_for_heat(a.kind, a.solids[0], b.kind, b.solids[0])
        )
        if one is not None and (found is None or one.gap_mm < found.gap_mm):
            found = one
    return found


def _motion(travel: Travel, thing: Standing) -> Motion:
    return Motion.APART if travel.moves or thing.growth is not None else Motion.TOGETHER


def _checked(
    a: str, b: str, mine: Sequence[Named], states: Sequence[State], travel: Travel, needed: Needed, heat: Needed | None,
    moves: bool = True,
) -> PairCheck | None:  # fmt: skip
    movement, prepared = Box(travel.mm), Mine.of(mine)
    least = least_gap(prepared, states, movement)
    if least is None:
        return None
    check = PairCheck(a, b, least, travel, needed, heat, None)
    if not moves or not (check.short or check.too_hot):
        return check
    asked = max(n.mm or 0.0 for n in (needed, heat) if n is not None)
    move = smallest_move(Parting(prepared, states, movement, asked))
    return PairCheck(a, b, least, travel, needed, heat, move)


def _lies_on(bolt: Bolted, thing: Standing) -> bool:
    """Whether the bolt's mating hole is in the thing's surface, not deep inside it."""
    foot = plus(bolt.wanted, bolt.axis, -bolt.shim_mm)
    spot = Capsule(foot, plus(foot, bolt.axis, 1e-3), _ON_IT_MM)
    return any(-2 * _ON_IT_MM <= gap(spot, solid).mm <= 0.0 for solid in thing.solids)


def pair_findings(check: PairCheck) -> Iterator[Finding]:
    """Rules gap and heat for one pair."""
    subject = f"{check.a} to {check.b}"
    if check.needed.mm is None:
        how = "they meet" if check.gap_mm <= 0.0 else f"the gap is {check.gap_mm:.1f} mm"
        habit = check.needed.habit_mm
        usual = f" (many shops leave {habit:g} mm: common practice, no source)" if habit is not None else ""
        whose = "one of the two" if check.a != PART else f"'{check.b}'"
        remedy = f"{how}{_where(check)}, and nothing says which gap is needed: "
        remedy += f"write gap = ... at {whose} in the site file{usual}"
        yield GAP.finding(Level.FAIL, subject, check.gap_mm, None, None, remedy, check.needed.source)
    elif check.short:
        remedy = f"{_met(check)}{_where(check)}: {move_words(check.a, check.move)}"
        yield GAP.finding(Level.FAIL, subject, check.gap_mm, check.needed.mm, None, remedy, check.needed.source)
    if check.too_hot and check.heat is not None and check.heat.mm is not None:
        most = check.heat.mm
        shield = "put a heat shield between, with air on both sides"
        far = "no distance is enough" if most > _ENOUGH_MM else move_words(check.a, check.move)
        remedy = f"{check.heat.why}{_where(check)}: {far}, or {shield}, or take a compound that stands more"
        required = most if math.isfinite(most) else None
        yield HEAT.finding(Level.FAIL, subject, check.gap_mm, required, None, remedy, check.heat.source)


def _met(check: PairCheck) -> str:
    how = "runs into it" if check.gap_mm <= 0.0 else "comes near it"
    return f"{check.least.mine} {how} at {spot(check.least.gap.here)}"


def _where(check: PairCheck) -> str:
    """In which position of things the gap is least."""
    words = []
    if check.least.state not in ("", "as measured"):
        words.append(f"pipe {check.least.state}")
    if any(check.least.shift):
        words.append(f"moved by {spot(check.least.shift)}")
    return f" ({', '.join(words)})" if words else ""


def move_words(who: str, move: Vector | None) -> str:
    """The smallest move in words: how far and which way in the site's frame."""
    if move is None or length(move) <= 0.0:
        return "no straight move was found that mends it"
    x, y, z = unit(move)
    whom = "the part there" if who == PART else f"'{who}'"
    way = ", ".join(f"{round(c, 2) + 0.0:.2f}" for c in (x, y, z))
    return f"move {whom} by {up_mm(length(move))} along ({way})"


def spot(p: Vector) -> str:
    """A place in the site's frame, '(12.3, -4.0, 55.1)'."""
    return "(" + ", ".join(f"{round(c, 1) + 0.0:.1f}" for c in p) + ")"


def scene_findings(scene: Scene) -> Iterator[Finding]:
    """What needs no pairs: bodies, temperatures, held ends, travels and growth that were assumed."""
    yield from joint_findings(scene)
    for thing in scene.things:
        yield from _exhaust(thing)
        yield from _grows(thing)
    yield from _travels(scene)


def _exhaust(thing: Standing) -> Iterator[Finding]:
    if thing.kind.matter != "exhaust":
        return
    if thing.kind.surface_c is None:
        remedy = "nothing says how hot it gets: write surface = ... in degrees C, measured after a long climb"
        yield HEAT.finding(Level.FAIL, thing.title, None, None, None, remedy, NO_SOURCE)
    if isinstance(thing.table, PipeTable) and thing.table.grows_from is None:
        remedy = "nothing says at which end it is held, so nobody knows where it goes hot: write grows_from = ..."
        yield GROWTH.finding(Level.FAIL, thing.title, None, None, None, remedy, NO_SOURCE)


def _grows(thing: Standing) -> Iterator[Finding]:
    growth = thing.growth
    if growth is None:
        return
    e = growth.expansion
    metal = f"no metal is given, so the worst ({e.metal}) is taken" if growth.worst else f"metal {e.metal}"
    remedy = (
        f"hot, its far end goes {growth.end_mm:.1f} mm, by {spot(growth.end)}, from {MEASURED_AT_C:g} to "
        f"{thing.kind.surface_c:g} degrees C; {metal}: {e.per_k * 1e6:.2f}e-6 per K. Both places were looked at"
    )
    yield GROWTH.finding(Level.NOTE, thing.title, growth.end_mm, None, None, remedy, cited(e.source, e.how))


def _travels(scene: Scene) -> Iterator[Finding]:
    document = scene.site.document
    for body in dict.fromkeys((*scene.bodies, *(t.body for t in scene.neighbours))):
        given = document.bodies[body].travel if body in document.bodies else None
        travel = travel_of(body, document.bodies)
        if given is None and travel.moves:
            mm = body_travel(body).travel_mm
            remedy = f"taken to move {mm:g} mm to either side: measure it, and write [bodies.{body}] travel = [x, y, z]"
            yield TRAVEL.finding(Level.NOTE, body, mm, None, None, remedy, travel.source)
