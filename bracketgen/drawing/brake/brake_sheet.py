"""The sheet for the brake: the order of bends as a table and as small pictures, with the figures of each bend."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from bracketgen.drawing.brake.section import View, draw, section
from bracketgen.drawing.columns import Band, PrintedTable, stacked, table_bands
from bracketgen.drawing.marks.lettering import Weight
from bracketgen.drawing.picture.head_and_foot import INNER, band, framed, head, small_print, stock_line
from bracketgen.drawing.sheet import FAIL, FAINT, HAIR, INK, WHITE, Label, Mark, Sheet, Stroke
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point
from bracketgen.shop.brake.brakes import PressBrake
from bracketgen.shop.brake.figures import FORCE_SOURCE, FORMULA_SOURCE
from bracketgen.shop.brake.gauging import SIGHT_LINE_SOURCE
from bracketgen.shop.brake.plan import APPROXIMATIONS, BrakePlan, BrakeStep
from bracketgen.shop.brake.press import PressSetup, Through
from bracketgen.standards.table import citation
from bracketgen.units import plain

#: The letters of the table, the largest that fit.
_TEXT_SIZES: Final = (3.2, 2.9, 2.6)
_CELL_TITLE_MM: Final = 4.6
_TITLE_TEXT_MM: Final = 3.2
_SMALL_MM: Final = 2.6
_PER_ROW: Final = 3
_LEAST_CELL_MM: Final = 34.0
_MOST_ROWS: Final = 3
_NO_ORDER: Final = "DO NOT BEND: no order works on this brake, it ends after the steps shown"

#: A step with its place in the order, from 1.
_Placed = tuple[int, BrakeStep]


def brake_pages(plan: BrakePlan, notice: str = "") -> tuple[Sheet, ...]:
    """The pages of a plan, one where it fits; `notice` is a warning that stands on top of each.

    A plan that does not work says so there, and what stopped it below its pictures.
    """
    if not plan.works:
        notice = notice or _NO_ORDER
    x0, y0, x1, _ = INNER
    top, y = _top(plan, notice)
    table = stacked(table_bands(order_table(plan), x1 - x0, _TEXT_SIZES))
    below, low = _foot(plan)
    high = y - table.height_mm
    steps = list(enumerate(plan.steps, 1))
    rows = max(1, min(-(-len(steps) // _PER_ROW), int((high - low) // _LEAST_CELL_MM)))
    first = steps[: rows * _PER_ROW]
    pages = [framed((*top, *table.at(Point(x0, y)), *_pictures(first, (x0, low + 1.5, x1, high - 1.5)), *below))]
    on_next = _MOST_ROWS * _PER_ROW
    for at in range(len(first), len(steps), on_next):
        pages.append(framed((*top, *_pictures(steps[at : at + on_next], (x0, y0 + 1.5, x1, y - 1.5)))))
    return tuple(pages)


def _top(plan: BrakePlan, notice: str) -> tuple[list[Mark], float]:
    part, bends = plan.flat.part, len(plan.flat.strips)
    words = f"{part.name}  ·  {stock_line(plan.flat)}  ·  {plan.brake.title}"
    kind = "press brake" if isinstance(plan.brake, PressBrake) else "leaf brake"
    right = ("brake", f"{bends} bend{'s' * (bends != 1)}", kind)
    marks, y = head(f"Brake sheet: {part.title or part.name}", ("stock", words), right, INNER)
    y -= 1.2
    if not notice:
        return marks, y
    more, y = band(notice, FAIL, WHITE, (*INNER[:3], y))
    return marks + more, y


def _foot(plan: BrakePlan) -> tuple[list[Mark], float]:
    """Remarks on single bends and cautions over the small print, hung so that they end at the lower edge."""
    x0, y0, x1, _ = INNER
    said = small_print([*remarks(plan), *plan.cautions, *plan.flat.part.cautions], x1 - x0, INK)
    small = small_print(explanations(plan), x1 - x0)
    low = y0 + small.height_mm + said.height_mm + 1.4
    rule = Stroke((Point(x0, low), Point(x1, low)), 0.3, HAIR)
    return [rule, *stacked((said, Band(0.6, ()), small)).at(Point(x0, low - 0.8))], low


def _pictures(steps: Sequence[_Placed], box: Box) -> list[Mark]:
    """A cell a step, with its two pictures."""
    if not steps:
        return []
    x0, y0, x1, y1 = box
    across = max(range(1, _PER_ROW + 1), key=lambda n: (_room(len(steps), n, x1 - x0, y1 - y0), -n))
    down = -(-len(steps) // across)
    wide, high = (x1 - x0) / across, (y1 - y0) / down
    marks: list[Mark] = []
    for n, step in enumerate(steps):
        left, top = x0 + wide * (n % across), y1 - high * (n // across)
        marks += _cell(step, (left + 1.0, top - high + 1.0, left + wide - 1.0, top - 0.5))
    return marks


def _room(steps: int, across: int, wide: float, high: float) -> float:
    """Side of the largest square that each of two pictures has, in rows of so many steps."""
    down = -(-steps // across)
    return min(wide / across / 2, high / down - _CELL_TITLE_MM - 4.0)


def _cell(step: _Placed, box: Box) -> list[Mark]:
    """Title, then before and after side by side at one scale."""
    x0, y0, x1, y1 = box
    place, made = step
    title = f"{place}   bend {made.number}, {plain(made.bend.turn_deg)}° {made.bend.way.upper()}"
    marks: list[Mark] = [Label(title, Point(x0, y1 - 3.2), _TITLE_TEXT_MM, INK, Weight.BOLD, shows=f"step {place}")]
    top, middle = y1 - _CELL_TITLE_MM - 3.2, (x0 + x1) / 2
    shown = [section(made, 0.0), section(made, made.bend.turn_deg)]
    a, b = (s.bounds for s in shown)
    bounds = (min(a[0], b[0]), min(a[1], b[1]), max(a[2], b[2]), max(a[3], b[3]))
    boxes = ((x0, y0, middle - 2.0, top), (middle + 1.0, y0, x1 - 1.0, top))
    for name, part, where in zip(("before", "after"), shown, boxes, strict=True):
        marks += draw(part, View.over(bounds, where), f"step {place} {name}")
        said = name if name == "before" else f"after, {plain(made.bend.turn_deg)}°"
        marks.append(Label(said, Point(where[0], top + 0.9), _SMALL_MM, FAINT, shows=f"step {place}"))
    return marks


# -- what is said about the bends of a plan, on the sheet and on the screen


def order_table(plan: BrakePlan) -> PrintedTable:
    """The bends in their order, a row each."""
    press = isinstance(plan.brake, PressBrake)
    rows = tuple(tuple(_cells(n, made, press).values()) for n, made in enumerate(plan.steps, 1))
    heads = tuple(_cells(1, plan.steps[0], press)) if plan.steps else ("step",)
    return PrintedTable("", heads, (), rows, "step {}")


def _cells(place: int, made: BrakeStep, press: bool) -> dict[str, str]:
    """What stands under each heading."""
    gauging, edge = made.gauging, plain(made.scribe.edge_mm, 1)
    cells = {
        "step": str(place),
        "bend": str(made.number),
        "turn from flat": f"{plain(made.bend.turn_deg)}° {made.bend.way.upper()}",
        "inside radius": f"R{plain(made.bend.inside_radius_mm)}",
        "face that looks up": made.face_up,
        "to the back gauge" if press else "under the clamp": made.held_panel,
    }
    if press:
        cells["gauge mm"] = plain(gauging.distance_mm, 1) if gauging and gauging.distance_mm else "scribe"
        cells["scribed on flat, mm"] = edge
    else:
        cells["sight line mm"] = plain(made.scribe.sight_mm, 1)
        cells["bend line mm"] = edge
        cells["nose, pieces in all, mm"] = tool_words(made)
    ways = f"{_short(made.way_in)} / {_short(made.way_out)}"
    over = {"bend over to (range)": over_words(made)}
    if not press:
        return {**cells, "in / out by": ways, **over}
    force = f"{plain(made.force.kn, 0)} ({plain(made.force.kn_per_m, 0)}/m)" if made.force else ""
    return {
        **cells,
        **over,
        "force about kN": force,
        "punch / die, pieces in all": tool_words(made),
        "in / out by": ways,
    }


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
