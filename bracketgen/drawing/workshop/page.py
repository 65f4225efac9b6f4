"""A page of a workshop's drawing: its paper and scales, the types of its lines, its frame with the title block."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from bracketgen.bending.flat import Flat
from bracketgen.drawing.columns import set_lines
from bracketgen.drawing.marks.lettering import LEADING, Weight, one_line, shortened, text_width_mm, wrapped
from bracketgen.drawing.paper_size import Paper
from bracketgen.drawing.picture.head_and_foot import banners, thickness_words
from bracketgen.drawing.sheet import FAINT, INK, Align, Colour, Label, Mark, Stroke, border
from bracketgen.findings import Finding
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point
from bracketgen.units import KG_PER_LB, plain

#: From the paper's edge to the frame; printers leave 3 to 7 mm white (common practice, no source).
_MARGIN_MM: Final = 8.0
#: Height of the title block along the lower edge.
_TITLE_MM: Final = 23.0
_HEAD_MM: Final = 8.0
_AIR_MM: Final = 3.0
#: Least width of a column of text, and the paper between two.
_COLUMN_MM: Final = 82.0
BETWEEN_MM: Final = 5.0

#: TitleBlock to part. Source: ISO 5455, from memory: 1, 2 and 5 with their tens.
SCALES: Final = (5.0, 2.0, 1.0, 1 / 2, 1 / 5, 1 / 10, 1 / 20, 1 / 50, 1 / 100, 1 / 200)
_SMALL_MM: Final = 2.1
_VALUE_MM: Final = 3.4
#: The smallest letters of one line, and those of two.
_TWO_LINES_MM: Final = 2.6
_HEAD_LETTERS_MM: Final = 4.0


def _frame(paper: Paper) -> Box:
    """The border of a page of lying paper."""
    width, height = paper.level
    return (_MARGIN_MM, _MARGIN_MM, width - _MARGIN_MM, height - _MARGIN_MM)


def _content(paper: Paper) -> Box:
    """Between head line and title block."""
    x0, y0, x1, y1 = _frame(paper)
    return (x0 + _AIR_MM, y0 + _TITLE_MM + _AIR_MM, x1 - _AIR_MM, y1 - _HEAD_MM - 1.0)


def columns_of(box: Box) -> list[Box]:
    """As many equal columns as have room for text side by side, from left to right."""
    width = box[2] - box[0]
    count = max(1, int((width + BETWEEN_MM) / (_COLUMN_MM + BETWEEN_MM)))
    each = (width - BETWEEN_MM * (count - 1)) / count
    lefts = [box[0] + i * (each + BETWEEN_MM) for i in range(count)]
    return [(x, box[1], x + each, box[3]) for x in lefts]


def standard_scale(width_mm: float, height_mm: float, room: tuple[float, float]) -> float:
    """The largest standard scale at which a thing of that size fits; the smallest one when none does."""
    fitting = (s for s in SCALES if width_mm * s <= room[0] and height_mm * s <= room[1])
    return next(fitting, SCALES[-1])


def scale_words(scale: float) -> str:
    """Such as '1:2' or '5:1'."""
    return f"{round(scale)}:1" if scale >= 1.0 else f"1:{round(1.0 / scale)}"


# -- the lines of a technical drawing
#
# Source: ISO 128-2, from memory: wide line 0.5 mm, narrow 0.25 mm; a dash is 12 d, a long dash 24 d, a gap 3 d, with d
# the width of the line. A dot is drawn as a short dash, so that every printer shows it.

_NARROW_MM: Final = 0.25
_LONG: Final = 24 * _NARROW_MM
_DASH: Final = 12 * _NARROW_MM
_GAP: Final = 3 * _NARROW_MM
_DOT: Final = 2 * _NARROW_MM


@dataclass(frozen=True, slots=True)
class LineType:
    """Width of a line and its dashes, mm; `words` is what it stands for."""

    width_mm: float
    dash_mm: tuple[float, ...]
    words: str

    def line(self, points: Sequence[Point], shows: str = "", colour: Colour = INK) -> Stroke:
        """A line of this type."""
        return Stroke(tuple(points), self.width_mm, colour, self.dash_mm, shows)


VISIBLE: Final = LineType(0.5, (), "edge in sight")
HIDDEN: Final = LineType(_NARROW_MM, (_DASH, _GAP), "edge out of sight")
CENTRE: Final = LineType(_NARROW_MM, (_LONG, _GAP, _DOT, _GAP), "centre line")
BENDING: Final = LineType(_NARROW_MM, (_LONG, _GAP, _DASH / 2, _GAP, _DASH / 2, _GAP), "centre line of a bend")
NARROW: Final = LineType(_NARROW_MM, (), "sizes, datum edges, tangent lines")


# -- frame, title block and head line


@dataclass(frozen=True, slots=True)
class TitleBlock:
    """What the pages are of, how many are wanted, and on which paper."""

    flat: Flat
    findings: tuple[Finding, ...]
    paper: Paper
    quantity: int
    tolerances: str


@dataclass(frozen=True, slots=True)
class PageName:
    """What a page holds, its number among how many, and its scale in words."""

    words: str
    number: int
    count: int
    scale: str


def page_frame(block: TitleBlock, name: PageName) -> list[Mark]:
    """Border, head line, title block, and the banner of a failed part between them and the content."""
    x0, _, x1, y1 = _frame(block.paper)
    hx0, hy0, hx1 = x0 + _AIR_MM, y1 - _HEAD_MM, x1 - _AIR_MM
    head = Label(name.words, Point(hx0, hy0 + 2.2), _HEAD_LETTERS_MM, INK, Weight.BOLD, shows="page head")
    sheet = Label(f"sheet {name.number} of {name.count}", Point(hx1, hy0 + 2.2), _VALUE_MM, INK, align=Align.RIGHT)
    rule = Stroke((Point(x0, hy0), Point(x1, hy0)), 0.25)
    return [border(_frame(block.paper), 0.7), head, sheet, rule, *_title_block(block, name), *_banners(block)[0]]


def content_box(block: TitleBlock) -> Box:
    """What a page leaves for its content, below the banners of failures and waivers."""
    x0, y0, x1, _ = _content(block.paper)
    return (x0, y0, x1, _banners(block)[1])


def _banners(block: TitleBlock) -> tuple[list[Mark], float]:
    return banners(block.findings, _content(block.paper), "see the findings", "with the reasons")


def _title_block(block: TitleBlock, name: PageName) -> list[Mark]:
    """Two rows of cells: a small caption and the value below it."""
    x0, y0, x1, _ = _frame(block.paper)
    y1 = y0 + _TITLE_MM
    middle = (y0 + y1) / 2
    upper, lower = _cells(block, name)
    rules = [Stroke((Point(x0, y), Point(x1, y)), width) for y, width in ((y1, 0.5), (middle, 0.25))]
    return [*rules, *_row(upper, (x0, middle, x1, y1)), *_row(lower, (x0, y0, x1, middle))]


Cell = tuple[str, str, float]


def _cells(block: TitleBlock, name: PageName) -> tuple[list[Cell], list[Cell]]:
    """Caption, value and share of the width."""
    flat = block.flat
    part, stock = flat.part, flat.part.stock
    pounds = flat.mass_kg / KG_PER_LB
    mass = f"{plain(flat.mass_kg, 3)} kg ({plain(pounds, 2 if pounds >= 0.1 else 3)} lb)"
    upper = [
        ("title", one_line(part.title or part.name), 4.2),
        ("part", one_line(part.name), 2.6),
        ("metal and temper", _metal_words(flat), 3.2),
        ("mass of one", mass, 1.9),
        ("quantity", str(block.quantity), 0.9),
    ]
    lower = [
        ("thickness", thickness_words(flat), 1.9),
        ("process", stock.process.title, 2.2),
        ("coating", one_line(stock.coating) or "none stated", 1.6),
        ("scale", name.scale, 0.8),
        ("tolerances unless stated", block.tolerances, 1.8),
        ("drawn by, date", "", 1.8),
        ("", "DO NOT SCALE; sizes in mm", 2.7),
    ]
    return upper, lower


def _metal_words(flat: Flat) -> str:
    """The metal with its temper, such as '5754-H22, temper H22'."""
    metal = flat.part.stock.metal
    temper = one_line(metal.temper)
    return metal.id if not temper or temper in metal.id else f"{metal.id}, {temper}"


def _row(cells: Sequence[Cell], box: Box) -> list[Mark]:
    x0, y0, x1, y1 = box
    whole = sum(share for *_, share in cells)
    marks: list[Mark] = []
    x = x0
    for caption, value, share in cells:
        width = (x1 - x0) * share / whole
        if x > x0:
            marks.append(Stroke((Point(x, y0), Point(x, y1)), 0.25))
        marks += _cell(caption, value, (x + 1.5, y0, x + width - 1.5, y1))
        x += width
    return marks


def _cell(caption: str, value: str, box: Box) -> list[Mark]:
    x0, y0, x1, y1 = box
    marks: list[Mark] = []
    if caption:
        marks.append(Label(caption, Point(x0, y1 - 2.9), _SMALL_MM, FAINT, shows="caption"))
    if value:
        marks += _value(value, x1 - x0, Point(x0, y0), caption or "warning")
    return marks


def _value(value: str, width: float, corner: Point, shows: str) -> list[Mark]:
    """In the largest letters in which it fits on one line, else on two."""
    sizes = (_VALUE_MM, 3.0, _TWO_LINES_MM)
    size = next((s for s in sizes if text_width_mm(value, s, Weight.BOLD) <= width), None)
    if size is not None:
        return [Label(value, corner.plus(Point(0.0, 2.6)), size, INK, Weight.BOLD, shows=shows)]
    first, *rest = wrapped(value, width, _TWO_LINES_MM, Weight.BOLD)
    second = shortened(" ".join(rest), width, _TWO_LINES_MM, Weight.BOLD)
    foot = corner.plus(Point(0.0, 1.2 + _TWO_LINES_MM * LEADING))
    return list(set_lines((first, second), foot, _TWO_LINES_MM, weight=Weight.BOLD, shows=shows))
