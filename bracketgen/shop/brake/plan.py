"""Everything the person at the brake needs: the order of bends and the figures of each."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from bracketgen.bending.flat import Flat, Strip
from bracketgen.part.bend import Bend, Way
from bracketgen.shop.brake.figures.force import Force
from bracketgen.shop.brake.figures.gauge import Gauging, Scribe, gauging, scribe
from bracketgen.shop.brake.figures.other_radius import legs_off_words
from bracketgen.shop.brake.figures.springback import OverBend, over_bend
from bracketgen.shop.brake.making.around import Around
from bracketgen.shop.brake.making.handling import Through, way_in, way_out
from bracketgen.shop.brake.making.leaf_handling import leaf_way
from bracketgen.shop.brake.making.metal import Wing
from bracketgen.shop.brake.making.obstacle import Obstacle
from bracketgen.shop.brake.making.press import PressSetup
from bracketgen.shop.brake.search import Search, Step
from bracketgen.shop.brake.tooling.choice import Setup, leaf_choice, press_choice, press_force
from bracketgen.shop.brake.tooling.tool import Brake, PressBrake

#: Said on every plan. General good practice of the trade.
_PRESS_CAUTION: Final = (
    "Press brakes crush hands: keep fingers out of the tools and off the sheet beside the bend, which flies up; guards "
    "and two-hand controls stay on, one person works the pedal"
)
_LEAF_CAUTION: Final = (
    "Clamp and leaf crush hands, leaf and counterweights swing wide: one person works them, all others stay clear"
)
_CAUTIONS: Final = (
    "Wear gloves off the machine only, eye and hearing protection always, and support long sheets",
    "The machine's own manual, its load plate and local rules come before this sheet",
)
APPROXIMATIONS: Final = (
    "Checked in section: tools as long as stated, set to the bend's middle, metal 1 mm clear of them unless your "
    "tooling says otherwise; outlines of panels that lie askew are filled to their hull, which is on the safe side; "
    "gauge fingers, end frames and the hands that hold the part are not "
    "looked at"
)
#: Bends whose natural radius differs by more than this share from the one asked for are told. Common practice.
_RADIUS_SHARE: Final = 0.25


@dataclass(frozen=True, slots=True)
class Made:
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
    steps: tuple[Made, ...]
    stopped: tuple[tuple[str, Obstacle], ...] = ()
    gave_up: bool = False

    @property
    def works(self) -> bool:
        """Whether every bend can be made."""
        return not self.stopped and not self.gave_up

    @property
    def cautions(self) -> tuple[str, ...]:
        """What to beware of at this brake."""
        return (_PRESS_CAUTION if isinstance(self.brake, PressBrake) else _LEAF_CAUTION, *_CAUTIONS)

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
    search = Search(flat, choices, turns)
    found = search.order()
    numbers = {s.bend.id: n for n, s in enumerate(flat.strips, 1)}
    done: frozenset[str] = frozenset()
    steps = []
    for step in found.steps:
        steps.append(_made(flat, step, numbers[step.bend], search.around(step.bend, done), turns[step.bend]))
        done |= {step.bend}
    return BrakePlan(flat, brake, tuple(steps), found.obstacles, found.gave_up)


def _made(flat: Flat, step: Step, number: int, around: Around, over: OverBend) -> Made:
    strip = flat.strip(step.bend)
    bend, setup = strip.bend, step.setup
    lines = scribe(
        flat, strip, step.held, bend.inside_radius_mm if isinstance(setup, PressSetup) else setup.nose.radius_mm
    )
    if not isinstance(setup, PressSetup):
        return Made(
            *(number, bend, step.held, setup, around, over, lines),
            way_in=leaf_way(around, step.held, setup, 0.0),
            way_out=leaf_way(around, step.held, setup, bend.turn_deg),
            notes=_leaf_notes(strip, flat, setup.nose.radius_mm),
        )
    return Made(
        *(number, bend, step.held, setup, around, over, lines),
        gauging=gauging(around, step.held, setup.brake.gauge),
        force=press_force(flat.part.stock, bend, setup.die),
        way_in=way_in(around, step.held, setup),
        way_out=way_out(around, step.held, setup, bend.turn_deg),
        notes=_press_notes(strip, flat, setup),
    )


def _press_notes(strip: Strip, flat: Flat, setup: PressSetup) -> tuple[str, ...]:
    bend, natural = strip.bend, 0.16 * setup.die.opening_mm
    if bend.die_mm is not None and abs(bend.die_mm - setup.die.opening_mm) > 0.1:
        return (f"the flat was made for a V of {bend.die_mm:g} mm: try a strip on {setup.die.name} first",)
    if abs(natural - bend.inside_radius_mm) > _RADIUS_SHARE * bend.inside_radius_mm:
        said = (
            f"{setup.die.name} leaves about R{natural:.1f} by itself, the flat was made for R{bend.inside_radius_mm:g}"
        )
        words = legs_off_words(strip, flat.part.stock.thickness_mm, natural)
        return (f"{said}, and {words}: try a strip first, then make the flat anew with what came out",)
    return ()


def _leaf_notes(strip: Strip, flat: Flat, nose_mm: float) -> tuple[str, ...]:
    radius = strip.bend.inside_radius_mm
    if abs(nose_mm - radius) > _RADIUS_SHARE * radius:
        said = f"the nose has R{nose_mm:g}, the flat was made for R{radius:g}"
        words = legs_off_words(strip, flat.part.stock.thickness_mm, nose_mm)
        return (f"{said}, and {words}: pack the nose or change the description",)
    return ()
