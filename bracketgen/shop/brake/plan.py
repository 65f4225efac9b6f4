"""The order in which all bends of a part can be made, and the figures of each bend for the person at the brake.

The order is found depth first from the finished part; dead ends are remembered.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from typing import Final

from bracketgen.bending.flat import Flat, Strip
from bracketgen.part.mark import mark_of
from bracketgen.part.part import Bend, Way
from bracketgen.shop.brake.brakes import Brake, Gauge, PressBrake, usual_leaf, usual_press
from bracketgen.shop.brake.figures import Force, OverBend, legs_off_words, over_bend
from bracketgen.shop.brake.gauging import Gauging, Scribe, gauging, scribe
from bracketgen.shop.brake.leaf import LeafSetup, leaf_obstacle, leaf_way
from bracketgen.shop.brake.metal import Around, BentMetal, Obstacle, Wing
from bracketgen.shop.brake.press import PressSetup, Through, press_obstacle, way_in, way_out
from bracketgen.shop.brake.setups import (
    RADIUS_PER_OPENING,
    Setup,
    ToolChoice,
    leaf_choice,
    press_choice,
    press_force,
)
from bracketgen.standards.cautions import caution
from bracketgen.units import plain

#: Beyond this many tries the search gives up and says so: no bracket needs them.
MOST_TRIES: Final = 2000
#: How many more are spent on finding out why no order works.
TRIES_FOR_A_REASON: Final = 150


@dataclass(frozen=True, slots=True)
class OrderStep:
    """One bend made: the wing toward the back gauge (press brake) or under the clamp (leaf brake), and the tools."""

    bend: str
    way: Way
    held: Wing
    setup: Setup


@dataclass(frozen=True, slots=True)
class BendOrder:
    """An order, or the longest beginning of one with what stopped every bend that was left."""

    steps: tuple[OrderStep, ...]
    obstacles: tuple[tuple[str, Obstacle], ...] = ()
    gave_up: bool = False

    @property
    def whole(self) -> bool:
        """Whether every bend is made."""
        return not self.obstacles and not self.gave_up


class _GaveUp(Exception):
    """Too many tries."""


@dataclass
class OrderSearch:
    """One part on one brake; `choices` and `turns` by bend id."""

    flat: Flat
    choices: Mapping[str, ToolChoice]
    turns: Mapping[str, OverBend]
    tries: int = 0
    _around: dict[tuple[str, frozenset[str]], Around] = field(default_factory=dict)
    _known: dict[tuple[str, frozenset[str], Wing, str], Obstacle | None] = field(default_factory=dict)
    _gauged: dict[tuple[str, frozenset[str], Wing], bool] = field(default_factory=dict)
    _most: int = MOST_TRIES

    def __post_init__(self) -> None:
        self.metal = BentMetal(self.flat)
        self.bends = {s.bend.id: s.bend for s in self.flat.strips}
        self._rank = _from_the_edges(self.flat)

    def around(self, bend_id: str, done: frozenset[str]) -> Around:
        """The metal around a bend in a state."""
        key = (bend_id, done)
        if key not in self._around:
            self._around[key] = Around(self.metal, bend_id, done)
        return self._around[key]

    def order(self) -> BendOrder:
        """One set of tools for all bends where that works, else changed between bends, else why not."""
        lacking = tuple((b, c.obstacle) for b, c in self.choices.items() if c.obstacle is not None)
        if lacking:
            return BendOrder((), lacking)
        if not self.bends:
            return BendOrder(())
        gave_up = False
        try:
            for allowed in self._passes():
                steps = self._earlier((), frozenset(self.bends), allowed, set())
                if steps is not None:
                    return BendOrder(steps)
        except _GaveUp:
            gave_up = True
        return self._stuck(gave_up)

    def _passes(self) -> Iterator[Callable[[Setup], bool]]:
        """Each set of tools alone, by the first bend's preference, then all of them."""
        names = list(dict.fromkeys(s.name for c in self.choices.values() for s in c.setups))
        for name in names:
            if all(any(s.name == name for s in c.setups) for c in self.choices.values()):
                yield lambda setup, name=name: setup.name == name  # type: ignore[misc]
        if len(names) > 1:
            yield lambda _setup: True

    def _earlier(
        self,
        later: tuple[OrderStep, ...],
        made: frozenset[str],
        allowed: Callable[[Setup], bool],
        dead: set[frozenset[str]],
    ) -> tuple[OrderStep, ...] | None:
        """The whole order with these last steps, found from the finished part back: that has the least freedom."""
        if not made:
            return later
        following = later[0] if later else None
        for bend_id in reversed(self._in_turn(made, following)):
            before = made - {bend_id}
            if before in dead:
                continue
            step = self._step(bend_id, before, following, allowed)
            whole = self._earlier((step, *later), before, allowed, dead) if step is not None else None
            if whole is not None:
                return whole
        dead.add(made)
        return None

    def _in_turn(self, of: frozenset[str], beside: OrderStep | None) -> list[str]:
        """Bends from the edges inward; those of the other way than the step beside them first."""
        way = beside.way if beside is not None else None
        return sorted(of, key=lambda b: (way is None or self.bends[b].way is way, self._rank[b]))

    def _step(
        self, bend_id: str, done: frozenset[str], beside: OrderStep | None, allowed: Callable[[Setup], bool]
    ) -> OrderStep | None:
        """The bend made in the handiest way that works, like the step beside it; None when none does."""
        setups = [s for s in self.choices[bend_id].setups if allowed(s)]
        if beside is not None:
            setups.sort(key=lambda s: s.name != beside.setup.name)
        for setup in setups:
            for held in self._sides(bend_id, done, beside, setup):
                if self.obstacle(bend_id, done, held, setup) is None:
                    return OrderStep(bend_id, self.bends[bend_id].way, held, setup)
        return None

    def _sides(self, bend_id: str, done: frozenset[str], beside: OrderStep | None, setup: Setup) -> list[Wing]:
        """The wing to hold, best first: one that can be gauged, the same as in the step beside it."""
        unlike = {w: beside is not None and w is not beside.held for w in Wing}
        if not isinstance(setup, PressSetup):
            return sorted(Wing, key=lambda w: unlike[w])
        gauge = setup.brake.gauge
        return sorted(Wing, key=lambda w: (not self._is_gauged(bend_id, done, w, gauge), unlike[w]))

    def _is_gauged(self, bend_id: str, done: frozenset[str], held: Wing, gauge: Gauge) -> bool:
        """Whether the wing can be set to the back gauge; asked for again with every set of tools."""
        key = (bend_id, done, held)
        if key not in self._gauged:
            self._gauged[key] = gauging(self.around(bend_id, done), held, gauge).distance_mm is not None
        return self._gauged[key]

    def obstacle(self, bend_id: str, done: frozenset[str], held: Wing, setup: Setup) -> Obstacle | None:
        """What is in the way of one bend; None when it can be made so."""
        key = (bend_id, done, held, setup.name)
        if key not in self._known:
            self.tries += 1
            if self.tries > self._most:
                raise _GaveUp
            around, to_deg = self.around(bend_id, done), self.turns[bend_id].most_deg
            if isinstance(setup, LeafSetup):
                self._known[key] = leaf_obstacle(around, held, setup, to_deg)
            else:
                self._known[key] = press_obstacle(around, held, setup, to_deg)
        return self._known[key]

    def _stuck(self, gave_up: bool) -> BendOrder:
        """The longest beginning within some more tries, and what stops each bend after it, latest in its turn."""
        self._most = self.tries + TRIES_FOR_A_REASON
        best: list[tuple[OrderStep, ...]] = [()]
        with suppress(_GaveUp):
            self._onward((), frozenset(), set(), best)
        done = frozenset(s.bend for s in best[0])
        found = []
        for bend_id in (b for b in self.bends if b not in done):
            met = [o for (b, d, _, _), o in self._known.items() if b == bend_id and d == done and o is not None]
            if met:
                found.append((bend_id, max(met, key=lambda o: o.turn_deg)))
        return BendOrder(best[0], tuple(found), gave_up or not found)

    def _onward(
        self,
        steps: tuple[OrderStep, ...],
        done: frozenset[str],
        seen: set[frozenset[str]],
        best: list[tuple[OrderStep, ...]],
    ) -> None:
        """Bends made as long as any can be; every state once."""
        seen.add(done)
        stuck = True
        for bend_id in self._in_turn(frozenset(self.bends) - done, steps[-1] if steps else None):
            step = self._step(bend_id, done, steps[-1] if steps else None, lambda _setup: True)
            if step is None:
                continue
            stuck = False
            if done | {bend_id} not in seen:
                self._onward((*steps, step), done | {bend_id}, seen, best)
        if stuck and len(steps) > len(best[0]):
            best[0] = steps


def _from_the_edges(flat: Flat) -> dict[str, tuple[int, int]]:
    """How many panels lie beyond a bend on its smaller side, then the place in the part's list."""
    bends = [s.bend for s in flat.strips]
    beyond = {b.id: 1 for b in bends}
    for bend in reversed(bends):
        beyond[bend.id] += sum(beyond[b.id] for b in bends if b.parent == bend.child)
    panels = len(flat.part.panels)
    return {b.id: (min(beyond[b.id], panels - beyond[b.id]), n) for n, b in enumerate(bends)}


# -- everything the person at the brake needs: the order of bends and the figures of each

APPROXIMATIONS: Final = (
    "Checked in section: tools as long as stated, set to the bend's middle, metal 1 mm clear of them unless your "
    "tooling says otherwise; outlines of panels that lie askew are filled to their hull, which is on the safe side; "
    "gauge fingers, end frames and the hands that hold the part are not "
    "looked at"
)
#: Bends whose natural radius differs by more than this share from the one asked for are told. Common practice.
_RADIUS_SHARE: Final = 0.25
#: Tools that are shorter than the bend by more are told. Own choice.
_SHORT_MM: Final = 0.1
#: Legs that together come out by more than this longer or shorter are not the part that was asked for. Own choice.
MOST_LEGS_OFF_MM: Final = 1.0


@dataclass(frozen=True, slots=True)
class BrakeStep:
    """One bend of the order with its figures.

    `number` is the bend's number on the drawing, `face_up` the face that is up and so inside the bend. `scribe` counts
    from the edge on the held wing's side. `gauging` and `force` are None on a leaf brake.
    """

    number: int
    bend: Bend
    held: Wing
    setup: Setup
    around: Around
    over: OverBend
    scribe: Scribe
    gauging: Gauging | None = None
    force: Force | None = None
    way_in: Through | None = None
    way_out: Through | None = None
    notes: tuple[str, ...] = ()

    @property
    def comes_out_mm(self) -> float:
        """The inside radius that the tools leave."""
        if isinstance(self.setup, LeafSetup):
            return self.setup.nose.radius_mm
        return self.bend.inside_radius_mm if self.bend.die_mm is not None else _natural_mm(self.setup)

    @property
    def face_up(self) -> str:
        """The face that looks up while it is bent."""
        return "described face" if self.bend.way is Way.UP else "back"

    @property
    def held_panel(self) -> str:
        """The panel that goes to the back gauge, or under the clamp."""
        return self.bend.child if self.held is Wing.CHILD else self.bend.parent

    @property
    def free_panel(self) -> str:
        """The panel on the operator's side, or on the leaf."""
        return self.bend.parent if self.held is Wing.CHILD else self.bend.child


@dataclass(frozen=True, slots=True)
class BrakePlan:
    """An order that can be made, or the longest beginning of one and what stopped the bends that were left."""

    flat: Flat
    brake: Brake
    steps: tuple[BrakeStep, ...]
    stopped: tuple[tuple[str, Obstacle], ...] = ()
    gave_up: bool = False

    @property
    def works(self) -> bool:
        """Whether every bend can be made."""
        return not self.stopped and not self.gave_up

    @property
    def tooling_mark(self) -> str:
        """The mark of the tools that it was found with."""
        return mark_of(self.brake)

    @property
    def cautions(self) -> tuple[str, ...]:
        """What to beware of at this brake."""
        machine = "press" if isinstance(self.brake, PressBrake) else "leaf"
        return tuple(caution(one) for one in (machine, "gloves", "manual"))

    @property
    def is_parallel(self) -> bool:
        """Whether all bends run the same way, so that the section is exact."""
        lines = [s.centre_line.direction_at(s.centre_line.start) for s in self.flat.strips]
        return all(abs(lines[0].cross(d)) < 1e-9 for d in lines[1:])


def plan_brake(flat: Flat, brake: Brake) -> BrakePlan:
    """The order of bends of a flat on a brake; no step for a part without bends."""
    stock = flat.part.stock
    t = stock.thickness_mm
    turns = {s.bend.id: over_bend(stock.metal, s.bend.turn_deg, s.bend.inside_radius_mm, t) for s in flat.strips}
    choose = press_choice if isinstance(brake, PressBrake) else leaf_choice
    choices = {s.bend.id: choose(brake, flat, s) for s in flat.strips}  # type: ignore[arg-type]
    search = OrderSearch(flat, choices, turns)
    found = search.order()
    numbers = {s.bend.id: n for n, s in enumerate(flat.strips, 1)}
    done: frozenset[str] = frozenset()
    steps = []
    for step in found.steps:
        made = _made(flat, step, numbers[step.bend], search.around(step.bend, done), turns[step.bend])
        steps.append(replace(made, notes=(*made.notes, *_tool_notes(made, choices[step.bend]))))
        done |= {step.bend}
    return BrakePlan(flat, brake, tuple(steps), found.obstacles, found.gave_up)


def usual_order(flat: Flat) -> tuple[int, ...]:
    """The order of bends by their numbers on the usual press brake, else on the usual leaf brake; none without one."""
    if len(flat.strips) < 2:
        return tuple(range(1, len(flat.strips) + 1))
    for brake in (usual_press(), usual_leaf()):
        plan = plan_brake(flat, brake)
        if plan.works:
            return tuple(made.number for made in plan.steps)
    return ()


def _made(flat: Flat, step: OrderStep, number: int, around: Around, over: OverBend) -> BrakeStep:
    strip = flat.strip(step.bend)
    bend, setup = strip.bend, step.setup
    lines = scribe(
        flat, strip, step.held, bend.inside_radius_mm if isinstance(setup, PressSetup) else setup.nose.radius_mm
    )
    if not isinstance(setup, PressSetup):
        return BrakeStep(
            *(number, bend, step.held, setup, around, over, lines),
            way_in=leaf_way(around, step.held, setup, 0.0),
            way_out=leaf_way(around, step.held, setup, bend.turn_deg),
            notes=_leaf_notes(strip, flat, setup.nose.radius_mm),
        )
    return BrakeStep(
        *(number, bend, step.held, setup, around, over, lines),
        gauging=gauging(around, step.held, setup.brake.gauge),
        force=press_force(flat.part.stock, bend, setup.die),
        way_in=way_in(around, step.held, setup),
        way_out=way_out(around, step.held, setup, bend.turn_deg),
        notes=_press_notes(strip, flat, setup),
    )


def _natural_mm(setup: PressSetup) -> float:
    """The inside radius that an air bend on a die leaves by itself."""
    return RADIUS_PER_OPENING * setup.die.opening_mm


def _press_notes(strip: Strip, flat: Flat, setup: PressSetup) -> tuple[str, ...]:
    bend, natural = strip.bend, _natural_mm(setup)
    if bend.die_mm is None and abs(natural - bend.inside_radius_mm) > _RADIUS_SHARE * bend.inside_radius_mm:
        said = (
            f"{setup.die.name} leaves about R{natural:.1f} by itself, the flat was made for R{bend.inside_radius_mm:g}"
        )
        words = legs_off_words(strip, flat.part.stock.thickness_mm, natural)
        return (f"{said}, and {words}: try a strip first, then make the flat anew with what came out",)
    return ()


def _tool_notes(made: BrakeStep, choice: ToolChoice) -> Iterator[str]:
    """Tools that are shorter than the bend, and a die that is not the first choice."""
    setup, bend, first = made.setup, made.bend, choice.setups[0]
    if isinstance(setup, PressSetup) and isinstance(first, PressSetup) and setup.die != first.die:
        yield f"on {setup.die.name} instead of {first.die.name}, with which something is in the way"
    shortest = min(setup.punch_mm, setup.die_mm) if isinstance(setup, PressSetup) else setup.nose_mm
    if bend.width_mm - shortest > _SHORT_MM:
        by = plain(bend.width_mm - shortest, 1)
        yield f"the tools are {by} mm shorter than the bend: set it to their middle, watch both ends"


def _leaf_notes(strip: Strip, flat: Flat, nose_mm: float) -> tuple[str, ...]:
    radius = strip.bend.inside_radius_mm
    if abs(nose_mm - radius) > _RADIUS_SHARE * radius:
        said = f"the nose has R{nose_mm:g}, the flat was made for R{radius:g}"
        words = legs_off_words(strip, flat.part.stock.thickness_mm, nose_mm)
        return (f"{said}, and {words}: pack the nose or change the description",)
    return ()
