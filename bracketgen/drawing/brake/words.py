"""What is said about the bends of a plan, on the sheet and on the screen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bracketgen.drawing.marks.plain_numbers import plain
from bracketgen.shop.brake.brakes import PressBrake
from bracketgen.shop.brake.figures import FORCE_SOURCE, FORMULA_SOURCE
from bracketgen.shop.brake.gauging import SIGHT_LINE_SOURCE
from bracketgen.shop.brake.plan import APPROXIMATIONS, BrakePlan, BrakeStep
from bracketgen.shop.brake.press import PressSetup, Through
from bracketgen.standards.table import citation


@dataclass(frozen=True, slots=True)
class Column:
    """A column of the table: its heading in one or two lines, and its cells."""

    head: tuple[str, str]
    cells: tuple[str, ...]


def columns(plan: BrakePlan) -> tuple[Column, ...]:
    """The table of the order, column by column."""
    steps = plan.steps
    press = isinstance(plan.brake, PressBrake)
    shared = [
        Column(("step", ""), tuple(str(n) for n in range(1, len(steps) + 1))),
        Column(("bend", ""), tuple(str(m.number) for m in steps)),
        Column(("turn", "from flat"), tuple(f"{plain(m.bend.turn_deg)}° {m.bend.way.upper()}" for m in steps)),
        Column(("inside", "radius"), tuple(f"R{plain(m.bend.inside_radius_mm)}" for m in steps)),
        Column(("face that", "looks up"), tuple(m.face_up for m in steps)),
        Column(("to the back gauge" if press else "under the clamp", ""), tuple(m.held_panel for m in steps)),
    ]
    own = _press_columns(steps) if press else _leaf_columns(steps)
    over = Column(("bend over to", "(range)"), tuple(over_words(m) for m in steps))
    return (*shared, *own, over, *(_force_columns(steps) if press else ()))


def _press_columns(steps: Sequence[BrakeStep]) -> list[Column]:
    gauge = tuple(plain(m.gauging.distance_mm, 1) if m.gauging and m.gauging.distance_mm else "scribe" for m in steps)
    return [
        Column(("gauge", "mm"), gauge),
        Column(("scribed on", "flat, mm"), tuple(plain(m.scribe.edge_mm, 1) for m in steps)),
    ]


def _leaf_columns(steps: Sequence[BrakeStep]) -> list[Column]:
    return [
        Column(("sight line", "mm"), tuple(plain(m.scribe.sight_mm, 1) for m in steps)),
        Column(("bend line", "mm"), tuple(plain(m.scribe.edge_mm, 1) for m in steps)),
        Column(("nose, pieces", "in all, mm"), tuple(tool_words(m) for m in steps)),
        _ways(steps),
    ]


def _force_columns(steps: Sequence[BrakeStep]) -> list[Column]:
    force = tuple(f"{plain(m.force.kn, 0)} ({plain(m.force.kn_per_m, 0)}/m)" if m.force else "" for m in steps)
    return [
        Column(("force about", "kN"), force),
        Column(("punch / die, pieces in all", ""), tuple(tool_words(m) for m in steps)),
        _ways(steps),
    ]


def _ways(steps: Sequence[BrakeStep]) -> Column:
    return Column(("in / out", "by"), tuple(f"{_short(m.way_in)} / {_short(m.way_out)}" for m in steps))


def _short(way: Through | None) -> str:
    return {Through.FRONT: "front", Through.END: "end"}.get(way, "") if way else ""


def over_words(made: BrakeStep) -> str:
    """The turn on the tool with its range, such as '90.6° (90.2–90.9)'."""
    over = made.over
    return f"{plain(over.to_deg, 1)}° ({plain(over.least_deg, 1)}–{plain(over.most_deg, 1)})"


def tool_words(made: BrakeStep) -> str:
    """The tools of a step with the lengths put together."""
    setup = made.setup
    if isinstance(setup, PressSetup):
        return f"{setup.punch.name} {plain(setup.punch_mm, 0)} / {setup.die.name} {plain(setup.die_mm, 0)}"
    return f"{setup.nose.name} {plain(setup.nose_mm, 0)}"


def step_title(place: int, made: BrakeStep) -> str:
    """Over the pictures of a step."""
    return f"{place}   bend {made.number}, {plain(made.bend.turn_deg)}° {made.bend.way.upper()}"


def remarks(plan: BrakePlan) -> tuple[str, ...]:
    """What is to be known about single bends, those that can't be made first."""
    said = [f"Stopped at {bend}: {obstacle.words}" for bend, obstacle in plan.stopped]
    for made in plan.steps:
        own = list(made.notes)
        if made.gauging is not None:
            own += _gauge_words(made)
        if Through.END in (made.way_in, made.way_out):
            own.append("goes in or comes out along the tools, not straight")
        if own:
            said.append(f"Bend {made.number}: {'; '.join(own)}")
    return tuple(said)


def _gauge_words(made: BrakeStep) -> list[str]:
    assert made.gauging is not None
    if made.gauging.distance_mm is not None:
        return [f"gauge against the {made.gauging.touches}"]
    return [f"no gauge ({made.gauging.why_not}), work to the scribed line"]


def explanations(plan: BrakePlan) -> tuple[str, ...]:
    """What the columns and pictures mean, and on whose word."""
    press = isinstance(plan.brake, PressBrake)
    own = (
        (
            "Gauge: from what it touches to the bend line, on the part as it is then; scribed: on the flat, from its "
            "edge on that side to the bend line",
            f"Force at the greatest tensile strength of the metal: {FORCE_SOURCE}",
            "Pictures: section seen from the right-hand end of the brake, operator left, gauge (black bar) right; the "
            "coloured line is the described face",
        )
        if press
        else (
            "Lines are scribed on the flat, from its edge on the clamped side; the sight line comes under the front "
            f"of the nose ({SIGHT_LINE_SOURCE})",
            "Pictures: section, operator left; the coloured line is the described face",
        )
    )
    table = any(e.source == "tabellenbuch-springback" for m in plan.steps for e in m.over.estimates)
    printed = f"; {citation('tabellenbuch-springback')}" if table else ""
    springback = f"Over-bend: try it on a piece of the same sheet. {FORMULA_SOURCE}{printed}"
    return (*own, springback, *([] if plan.is_parallel else [_ASKEW]), APPROXIMATIONS)


_ASKEW = "Bends of this part run different ways: each section shows the outlines of the other walls as full boxes"
