"""Frame, title block and head line of a page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from bracketgen.bending.flat import Flat
from bracketgen.drawing.marks.plain_numbers import plain
from bracketgen.drawing.paper.lettering import LEADING, Weight, one_line, shortened, text_width_mm, wrapped
from bracketgen.drawing.paper.palette import FAIL, FAINT, INK, WARN, WHITE
from bracketgen.drawing.picture.header import band
from bracketgen.drawing.sheet import Align, Label, Mark, Stroke
from bracketgen.drawing.workshop.paper import PageAreas, Paper
from bracketgen.findings import Finding, Level
from bracketgen.geometry.line import Box
from bracketgen.geometry.point import Point

_SMALL_MM: Final = 2.1
_TEXT_MM: Final = 3.4
#: The smallest letters of one line, and those of two.
_TWO_LINES_MM: Final = 2.6
_HEAD_MM: Final = 4.0
#: Source: NIST SP 811 (2008), appendix B.8: 1 lb = 0.453 592 37 kg.
_KG_PER_LB: Final = 0.45359237


@dataclass(frozen=True, slots=True)
class Subject:
    """What the pages are of, how many are wanted, and on which paper."""

    flat: Flat
    findings: tuple[Finding, ...]
    paper: Paper
    quantity: int
    tolerances: str

    @property
    def areas(self) -> PageAreas:
        """Where things go on its pages."""
        return PageAreas(self.paper)


@dataclass(frozen=True, slots=True)
class PageName:
    """What a page holds, its number among how many, and its scale in words."""

    words: str
    number: int
    count: int
    scale: str


def page_frame(subject: Subject, name: PageName) -> list[Mark]:
    """Border, head line, title block, and the banner of a failed part between them and the content."""
    areas = subject.areas
    x0, y0, x1, y1 = areas.frame
    corners = (Point(x0, y0), Point(x1, y0), Point(x1, y1), Point(x0, y1), Point(x0, y0))
    hx0, hy0, hx1, _ = areas.head
    head = Label(name.words, Point(hx0, hy0 + 2.2), _HEAD_MM, INK, Weight.BOLD, shows="page head")
    sheet = Label(f"sheet {name.number} of {name.count}", Point(hx1, hy0 + 2.2), _TEXT_MM, INK, align=Align.RIGHT)
    rule = Stroke((Point(x0, hy0), Point(x1, hy0)), 0.25)
    return [Stroke(corners, 0.7), head, sheet, rule, *_title_block(subject, name), *_banner(subject)]


def content_box(subject: Subject) -> Box:
    """What a page leaves for its content, below the banners of failures and waivers."""
    x0, y0, x1, y1 = subject.areas.content
    return (x0, y0, x1, _banners(subject, (x0, y0, x1, y1))[1])


def _banner(subject: Subject) -> list[Mark]:
    return _banners(subject, subject.areas.content)[0]


def _banners(subject: Subject, box: Box) -> tuple[list[Mark], float]:
    failed = len({f.rule for f in subject.findings if f.level is Level.FAIL and f.waived is None})
    waived = sum(f.waived is not None for f in subject.findings)
    marks: list[Mark] = []
    y = box[3]
    if failed:
        rules = "a rule has" if failed == 1 else f"{failed} rules have"
        marks, y = band(f"DO NOT CUT: {rules} failed, see the findings", FAIL, WHITE, (*box[:3], y))
    if waived:
        what = "1 finding is" if waived == 1 else f"{waived} findings are"
        more, y = band(f"WAIVED: {what} set aside on request, with the reasons", WARN, INK, (*box[:3], y))
        marks = [*marks, *more]
    return marks, y


def _title_block(subject: Subject, name: PageName) -> list[Mark]:
    """Two rows of cells: a small caption and the value below it."""
    x0, y0, x1, y1 = subject.areas.title
    middle = (y0 + y1) / 2
    upper, lower = _cells(subject, name)
    rules = [Stroke((Point(x0, y), Point(x1, y)), width) for y, width in ((y1, 0.5), (middle, 0.25))]
    return [*rules, *_row(upper, (x0, middle, x1, y1)), *_row(lower, (x0, y0, x1, middle))]


Cell = tuple[str, str, float]


def _cells(subject: Subject, name: PageName) -> tuple[list[Cell], list[Cell]]:
    """Caption, value and share of the width."""
    flat = subject.flat
    part, stock = flat.part, flat.part.stock
    pounds = flat.mass_kg / _KG_PER_LB
    mass = f"{plain(flat.mass_kg, 3)} kg ({plain(pounds, 2 if pounds >= 0.1 else 3)} lb)"
    upper = [
        ("title", one_line(part.title or part.name), 4.2),
        ("part", one_line(part.name), 2.6),
        ("metal and temper", metal_words(flat), 3.2),
        ("mass of one", mass, 1.9),
        ("quantity", str(subject.quantity), 0.9),
    ]
    lower = [
        ("thickness", thickness_words(flat), 1.9),
        ("process", stock.process.title, 2.2),
        ("coating", one_line(stock.coating) or "none stated", 1.6),
        ("scale", name.scale, 0.8),
        ("tolerances unless stated", subject.tolerances, 1.8),
        ("drawn by, date", "", 1.8),
        ("", "DO NOT SCALE; sizes in mm", 2.7),
    ]
    return upper, lower


def metal_words(flat: Flat) -> str:
    """The metal with its temper, such as '5754-H22, temper H22'."""
    metal = flat.part.stock.metal
    temper = one_line(metal.temper)
    return metal.id if not temper or temper in metal.id else f"{metal.id}, {temper}"


def thickness_words(flat: Flat) -> str:
    """As it was typed, and in mm."""
    stock = flat.part.stock
    mm, typed = f"{plain(stock.thickness_mm, 3)} mm", one_line(stock.thickness_typed)
    return mm if typed in ("", mm, plain(stock.thickness_mm, 3)) else f"{typed} ({mm})"


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
    size = _size(value, width)
    if text_width_mm(value, size, Weight.BOLD) <= width:
        return [Label(value, corner.plus(Point(0.0, 2.6)), size, INK, Weight.BOLD, shows=shows)]
    first, *rest = wrapped(value, width, _TWO_LINES_MM, Weight.BOLD)
    second = shortened(" ".join(rest), width, _TWO_LINES_MM, Weight.BOLD)
    feet = (1.2 + _TWO_LINES_MM * LEADING, 1.2)
    return [
        Label(text, corner.plus(Point(0.0, foot)), _TWO_LINES_MM, INK, Weight.BOLD, shows=shows)
        for text, foot in zip((first, second), feet, strict=True)
    ]


def _size(text: str, width: float) -> float:
    """The largest letters in which the text fits, down to the smallest."""
    sizes = (_TEXT_MM, 3.0, _TWO_LINES_MM)
    return next((s for s in sizes if text_width_mm(text, s, Weight.BOLD) <= width), sizes[-1])
