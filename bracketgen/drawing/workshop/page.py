"""A page of a workshop's drawing: its paper and scales, the types of its lines, its frame with the title block."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from bracketgen.bending.flat import Flat
from bracketgen.drawing.columns import Band, grid, pour, set_lines
from bracketgen.drawing.marks.lettering import LEADING, Weight, one_line, shortened, text_width_mm, wrapped
from bracketgen.drawing.picture.head_and_foot import banners, thickness_words
from bracketgen.drawing.sheet import FAINT, INK, WHITE, Align, Label, LineType, Mark, Paper, Sheet, Stroke, border
from bracketgen.findings import Finding
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point
from bracketgen.part.mark import mark_words
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
    return grid(box, max(1, int((width + BETWEEN_MM) / (_COLUMN_MM + BETWEEN_MM))), 1, BETWEEN_MM)


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


VISIBLE: Final = LineType(0.5, words="edge in sight")
HIDDEN: Final = LineType(_NARROW_MM, (_DASH, _GAP), words="edge out of sight")
CENTRE: Final = LineType(_NARROW_MM, (_LONG, _GAP, _DOT, _GAP), words="centre line")
BENDING: Final = LineType(_NARROW_MM, (_LONG, _GAP, _DASH / 2, _GAP, _DASH / 2, _GAP), words="centre line of a bend")
NARROW: Final = LineType(_NARROW_MM, words="sizes, datum edges, tangent lines")


# -- frame, title block and head line


@dataclass(frozen=True, slots=True)
class TitleBlock:
    """What the pages are of, how many are wanted, and on which paper; `site_mark` is that of the site it goes to.

    Raises ValueError for a quantity below 1.
    """

    flat: Flat
    findings: tuple[Finding, ...]
    paper: Paper
    quantity: int
    tolerances: str
    site_mark: str = ""

    def __post_init__(self) -> None:
        if self.quantity < 1:
            raise ValueError("a page is for one part at least")


def workshop_pages(
    block: TitleBlock, views: Sequence[tuple[str, str, Sequence[Mark]]], words: str, bands: Sequence[Band]
) -> tuple[Sheet, ...]:
    """The views (what a page holds, its scale, its marks), then pages of `words` with the bands in columns."""
    pages = list(views)
    while bands:
        marks, bands = pour(bands, columns_of(content_box(block)))
        pages.append((words, "none", marks))
    banner, size = _banners(block)[0], block.paper.level
    part = block.flat.part
    marked = mark_words(part.mark, ("site", block.site_mark) if block.site_mark else None)
    made: list[Sheet] = []
    for number, (held, scale, content) in enumerate(pages, 1):
        place = f"{marked}{'  ·  ' * bool(marked)}sheet {number} of {len(pages)}"
        frame = _page_frame(block.paper, held, place)
        made.append(Sheet(*size, (*frame, *_title_block(block, scale), *banner, *content), WHITE))
    return tuple(made)


def _page_frame(paper: Paper, words: str, place: str) -> list[Mark]:
    """Border and head line."""
    x0, _, x1, y1 = _frame(paper)
    hx0, hy0, hx1 = x0 + _AIR_MM, y1 - _HEAD_MM, x1 - _AIR_MM
    head = Label(words, Point(hx0, hy0 + 2.2), _HEAD_LETTERS_MM, INK, Weight.BOLD, shows="page head")
    sheet = Label(place, Point(hx1, hy0 + 2.2), _VALUE_MM, INK, align=Align.RIGHT)
    return [border(_frame(paper), 0.7), head, sheet, Stroke((Point(x0, hy0), Point(x1, hy0)), 0.25)]


def content_box(block: TitleBlock) -> Box:
    """What a page leaves for its content, below the banners of failures and waivers."""
    x0, y0, x1, _ = _content(block.paper)
    return (x0, y0, x1, _banners(block)[1])


def _banners(block: TitleBlock) -> tuple[list[Mark], float]:
    return banners(block.findings, _content(block.paper), "see the findings", "with the reasons")


def _title_block(block: TitleBlock, scale: str) -> list[Mark]:
    """Two rows of cells: a small caption and the value below it."""
    x0, y0, x1, _ = _frame(block.paper)
    marks: list[Mark] = []
    for row, cells in enumerate(_cells(block, scale)):
        high, x = y0 + _TITLE_MM * (1.0 - row / 2), x0
        low = high - _TITLE_MM / 2
        marks.append(Stroke((Point(x0, high), Point(x1, high)), 0.25 if row else 0.5))
        for caption, value, share in cells:
            width = (x1 - x0) * share / sum(s for *_, s in cells)
            if x > x0:
                marks.append(Stroke((Point(x, low), Point(x, high)), 0.25))
            corner, shows = Point(x + 1.5, low), caption or "warning"
            marks.append(Label(caption, Point(corner.x, high - 3.3), _SMALL_MM, FAINT, shows="caption"))
            marks += _value(value, width - 3.0, corner, shows)
            x += width
    return [m for m in marks if not (isinstance(m, Label) and not m.text)]


def _cells(block: TitleBlock, scale: str) -> tuple[list[tuple[str, str, float]], ...]:
    """Caption, value and share of the width."""
    flat = block.flat
    part, stock = flat.part, flat.part.stock
    temper, metal = one_line(stock.metal.temper), stock.metal.id
    metal = metal if not temper or temper in metal else f"{metal}, {temper}"
    pounds = flat.mass_kg / KG_PER_LB
    mass = f"{plain(flat.mass_kg, 3)} kg ({plain(pounds, 2 if pounds >= 0.1 else 3)} lb)"
    upper = [
        ("title", one_line(part.title or part.name), 4.2),
        ("part", one_line(part.name), 2.6),
        ("metal and temper", metal, 3.2),
        ("mass of one", mass, 1.9),
        ("quantity", str(block.quantity), 0.9),
    ]
    lower = [
        ("thickness", thickness_words(flat), 1.9),
        ("process", stock.process.title, 2.2),
        ("coating", one_line(stock.coating) or "none stated", 1.6),
        ("scale", scale, 0.8),
        ("tolerances unless stated", block.tolerances, 1.8),
        ("drawn by, date", "", 1.8),
        ("", "DO NOT SCALE; sizes in mm", 2.7),
    ]
    return upper, lower


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
