"""The sheet for the brake: the order of bends as a table and as small pictures, with the figures of each bend."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from bracketgen.drawing.brake.section import View, draw, section
from bracketgen.drawing.marks.plain_numbers import plain
from bracketgen.drawing.paper.lettering import Weight, shortened, text_width_mm
from bracketgen.drawing.paper.palette import FAIL, FAINT, HAIR, INK, WHITE
from bracketgen.drawing.picture.head_and_foot import band, head, small_print, stock_line
from bracketgen.drawing.sheet import Label, Mark, Sheet, Stroke
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point
from bracketgen.shop.brake.brakes import PressBrake
from bracketgen.shop.brake.figures import FORCE_SOURCE, FORMULA_SOURCE
from bracketgen.shop.brake.gauging import SIGHT_LINE_SOURCE
from bracketgen.shop.brake.plan import APPROXIMATIONS, BrakePlan, BrakeStep
from bracketgen.shop.brake.press import PressSetup, Through
from bracketgen.standards.table import citation

#: A4 landscape, ISO 216.
WIDTH_MM: Final = 297.0
HEIGHT_MM: Final = 210.0
_EDGE_MM: Final = 8.0
_TEXT_SIZES: Final = (3.2, 2.9, 2.6)
_ROW: Final = 1.55
_GAP_MM: Final = 3.0
_CELL_TITLE_MM: Final = 4.6
_TITLE_TEXT_MM: Final = 3.2
_SMALL_MM: Final = 2.6
_PER_ROW: Final = 3
_LEAST_CELL_MM: Final = 34.0
_MOST_ROWS: Final = 3


_NO_ORDER: Final = "DO NOT BEND: no order works on this brake, it ends after the steps shown"


@dataclass(frozen=True, slots=True)
class _Placed:
    """A step with its place in the order, from 1."""

    place: int
    made: BrakeStep


def brake_pages(plan: BrakePlan, notice: str = "") -> tuple[Sheet, ...]:
    """The pages of a plan, one where it fits; `notice` is a warning that stands on top of each.

    A plan that does not work says so there, and what stopped it below its pictures.
    """
    if not plan.works:
        notice = notice or _NO_ORDER
    steps = [_Placed(n, made) for n, made in enumerate(plan.steps, 1)]
    first = _Page(plan, notice)
    rows = first.rows_of_pictures()
    pages = [first.sheet(steps[: rows * _PER_ROW], whole=True)]
    rest = steps[rows * _PER_ROW :]
    on_next = _MOST_ROWS * _PER_ROW
    for at in range(0, len(rest), on_next):
        pages.append(_Page(plan, notice).sheet(rest[at : at + on_next], whole=False))
    return tuple(pages)


@dataclass(frozen=True, slots=True)
class _Page:
    """Lays out one page."""

    plan: BrakePlan
    notice: str

    @property
    def edge(self) -> Box:
        return (_EDGE_MM, _EDGE_MM, WIDTH_MM - _EDGE_MM, HEIGHT_MM - _EDGE_MM)

    def rows_of_pictures(self) -> int:
        """How many rows of pictures the first page holds."""
        _, y = self._top(whole=True)
        _, low = self._foot()
        room = y - low
        asked = -(-len(self.plan.steps) // _PER_ROW)
        return max(1, min(asked, int(room // _LEAST_CELL_MM)))

    def sheet(self, steps: Sequence[_Placed], whole: bool) -> Sheet:
        marks, y = self._top(whole)
        foot, low = self._foot() if whole else ([], self.edge[1])
        marks += _pictures(steps, (self.edge[0], low + 1.5, self.edge[2], y - 1.5))
        frame = (2.5, 2.5, WIDTH_MM - 2.5, HEIGHT_MM - 2.5)
        return Sheet(WIDTH_MM, HEIGHT_MM, (_framed(frame), *marks, *foot))

    def _top(self, whole: bool) -> tuple[list[Mark], float]:
        plan, part = self.plan, self.plan.flat.part
        words = f"{part.name}  ·  {stock_line(plan.flat)}  ·  {plan.brake.title}"
        bends = len(plan.flat.strips)
        kind = "press brake" if isinstance(plan.brake, PressBrake) else "leaf brake"
        right = ("brake", f"{bends} bend{'s' * (bends != 1)}", kind)
        marks, y = head(f"Brake sheet: {part.title or part.name}", ("stock", words), right, self.edge)
        y -= 1.2
        if self.notice:
            more, y = band(self.notice, FAIL, WHITE, (self.edge[0], 0.0, self.edge[2], y))
            marks = marks + more
        if not whole:
            return marks, y
        table, y = _table(columns(plan), (self.edge[0], 0.0, self.edge[2], y))
        return marks + table, y

    def _foot(self) -> tuple[list[Mark], float]:
        """Remarks on single bends and cautions over the small print, hung so that they end at the lower edge."""
        plan, edge = self.plan, self.edge
        wide = edge[2] - edge[0]
        small = small_print(explanations(plan), wide)
        said = small_print([*remarks(plan), *plan.cautions, *plan.flat.part.cautions], wide)
        high = edge[1] + small.height_mm
        top = high + said.height_mm + 0.6
        rule = Stroke((Point(edge[0], top + 0.8), Point(edge[2], top + 0.8)), 0.3, HAIR)
        upper = [replace(m, colour=INK) for m in said.at(Point(edge[0], top)) if isinstance(m, Label)]
        return [rule, *upper, *small.at(Point(edge[0], high))], top + 0.8


def _framed(box: Box) -> Mark:
    x0, y0, x1, y1 = box
    return Stroke((Point(x0, y0), Point(x1, y0), Point(x1, y1), Point(x0, y1), Point(x0, y0)), 0.5, INK)


def _table(found: Sequence[Column], box: Box) -> tuple[list[Mark], float]:
    """The table hung from the top of the box in the largest letters that fit; the y where it ends."""
    x0, _, x1, top = box
    for size in _TEXT_SIZES:
        widths = [_width(c, size) for c in found]
        if sum(widths) + _GAP_MM * (len(found) - 1) <= x1 - x0:
            break
    spare = (x1 - x0 - sum(widths)) / max(1, len(found) - 1)
    gap = min(max(spare, 0.0), 9.0) if spare >= _GAP_MM else _GAP_MM
    cells = found if spare >= _GAP_MM else _narrowed(found, widths, size, x1 - x0)
    if spare < _GAP_MM:
        widths = [_width(c, size) for c in cells]
    step = size * _ROW
    marks: list[Mark] = []
    x = x0
    for column, width in zip(cells, widths, strict=True):
        for row, text in enumerate(column.head):
            if text:
                marks.append(Label(text, Point(x, top - step * (0.8 + 0.8 * row)), size * 0.92, FAINT, shows="table"))
        for row, text in enumerate(column.cells):
            y = top - step * (2.95 + row)
            weight = Weight.BOLD if column is cells[0] else Weight.PLAIN
            marks.append(Label(text, Point(x, y), size, INK, weight, shows=f"step {row + 1}"))
        x += width + gap
    rule = top - step * 2.0
    marks.append(Stroke((Point(x0, rule), Point(x1, rule)), 0.25, HAIR))
    rows = max(len(c.cells) for c in found)
    return marks, top - step * (2.3 + rows)


def _width(column: Column, size: float) -> float:
    heads = [text_width_mm(t, size * 0.92) for t in column.head]
    return max(*heads, *(text_width_mm(t, size, Weight.BOLD) for t in column.cells), 1.0)


def _narrowed(found: Sequence[Column], widths: Sequence[float], size: float, room: float) -> list[Column]:
    """The widest columns shortened until all fit side by side."""
    room -= _GAP_MM * (len(found) - 1)
    most = max(widths)
    while sum(min(w, most) for w in widths) > room and most > 8.0:
        most -= 0.5
    return [
        Column(
            (shortened(c.head[0], most, size * 0.92), shortened(c.head[1], most, size * 0.92)),
            tuple(shortened(t, most, size, Weight.BOLD) for t in c.cells),
        )
        for c in found
    ]


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
    made = step.made
    title = shortened(step_title(step.place, made), x1 - x0, _TITLE_TEXT_MM, Weight.BOLD)
    marks: list[Mark] = [
        Label(title, Point(x0, y1 - 3.2), _TITLE_TEXT_MM, INK, Weight.BOLD, shows=f"step {step.place}"),
    ]
    top, middle = y1 - _CELL_TITLE_MM - 3.2, (x0 + x1) / 2
    shown = [section(made, 0.0), section(made, made.bend.turn_deg)]
    a, b = (s.bounds for s in shown)
    bounds = (min(a[0], b[0]), min(a[1], b[1]), max(a[2], b[2]), max(a[3], b[3]))
    boxes = ((x0, y0, middle - 2.0, top), (middle + 1.0, y0, x1 - 1.0, top))
    for name, part, where in zip(("before", "after"), shown, boxes, strict=True):
        marks += draw(part, View.over(bounds, where), f"step {step.place} {name}")
        said = name if name == "before" else f"after, {plain(made.bend.turn_deg)}°"
        marks.append(Label(said, Point(where[0], top + 0.9), _SMALL_MM, FAINT, shows=f"step {step.place}"))
    return marks


# What is said about the bends of a plan, on the sheet and on the screen.


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
