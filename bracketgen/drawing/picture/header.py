"""The head of the sheet: what it is, of what, how big, and whether it may be cut."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from bracketgen.bending.flat import Flat
from bracketgen.drawing.marks.plain_numbers import inches, plain
from bracketgen.drawing.paper.lettering import LEADING, Weight, one_line, shortened, text_width_mm, wrapped
from bracketgen.drawing.paper.palette import FAIL, FAINT, INK, WARN, WHITE, Colour
from bracketgen.drawing.sheet import Align, Fill, Label, Mark, Stroke
from bracketgen.findings import Finding, Level
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point

#: Source: NIST SP 811 (2008), appendix B.8: 1 lb = 0.453 592 37 kg.
KG_PER_LB: Final = 0.45359237
_TITLE_SIZES: Final = (7.5, 6.2, 5.2)
_TEXT_MM: Final = 4.0
_SIZE_MM: Final = 5.6
_RIGHT_MM: Final = 78.0
_BANNER_MM: Final = 4.6


def thickness_words(flat: Flat) -> str:
    """As it was typed, and in mm."""
    stock = flat.part.stock
    mm, typed = f"{plain(stock.thickness_mm, 3)} mm", one_line(stock.thickness_typed)
    return mm if typed in ("", mm, plain(stock.thickness_mm, 3)) else f"{typed} ({mm})"


def stock_line(flat: Flat) -> str:
    """Such as 'S235, 4 mm, laser', with the coating when there is one."""
    stock = flat.part.stock
    words = (stock.metal.id, thickness_words(flat), stock.process.id, one_line(stock.coating))
    return ", ".join(w for w in words if w)


def header(flat: Flat, findings: Sequence[Finding], box: Box) -> tuple[list[Mark], float]:
    """Title, stock and size hung from the top of `box`, the banner below; and the y where they end."""
    words = f"{one_line(flat.part.name)}  ·  {stock_line(flat)}"
    x0, y0, x1, y1 = flat.bounds_mm
    w, h = x1 - x0, y1 - y0
    size = ("flat size", f"flat {plain(w, 1)} × {plain(h, 1)} mm", f"{inches(w)} × {inches(h)} in")
    marks, y = head(flat.part.title or flat.part.name, ("stock", words), size, box)
    below = (box[0], box[1], box[2], y - 1.2)
    banner, y = banners(findings, below, "see the list below", "reasons in the list below")
    return marks + banner, y


def head(title: str, line: tuple[str, str], right: tuple[str, str, str], box: Box) -> tuple[list[Mark], float]:
    """Title with a line below it, hung from the top of `box`, two short lines on the right, a rule; and its y.

    `line` is what it shows and its words; `right` is what it shows, its large words and the small ones below.
    """
    x0, _, x1, top = box
    room = x1 - x0 - _RIGHT_MM
    size, lines = _title_lines(title, room)
    marks: list[Mark] = []
    y = top
    for text in lines:
        y -= size * 0.95
        marks.append(Label(text, Point(x0, y), size, INK, Weight.BOLD, shows="title"))
        y -= size * 0.3
    y -= _TEXT_MM * 1.05
    for text in wrapped(line[1], room, _TEXT_MM):
        marks.append(Label(text, Point(x0, y), _TEXT_MM, INK, shows=line[0]))
        y -= _TEXT_MM * LEADING
    y = min(y + 2.6, top - 15.5)
    shows, large, small = right
    first, second = Point(x1, top - _SIZE_MM), Point(x1, top - _SIZE_MM - 6.4)
    marks.append(Label(large, first, _SIZE_MM, INK, Weight.BOLD, Align.RIGHT, shows=shows))
    marks.append(Label(small, second, _TEXT_MM, FAINT, Weight.PLAIN, Align.RIGHT, shows=shows))
    marks.append(Stroke((Point(x0, y), Point(x1, y)), 0.6))
    return marks, y


def _title_lines(title: str, room: float) -> tuple[float, list[str]]:
    """The title in the largest letters that need one line, else in two lines of the smallest."""
    text = one_line(title)
    for size in _TITLE_SIZES:
        if text_width_mm(text, size, Weight.BOLD) <= room:
            return size, [text]
    lines = wrapped(text, room, _TITLE_SIZES[-1], Weight.BOLD)
    if len(lines) > 2:
        lines = [lines[0], shortened(" ".join(lines[1:]), room, _TITLE_SIZES[-1], Weight.BOLD)]
    return _TITLE_SIZES[-1], lines


def banners(findings: Sequence[Finding], box: Box, failed_words: str, waived_words: str) -> tuple[list[Mark], float]:
    """Bands for failed rules and for waivers, hung from the top of `box`; the y below them."""
    failed = len({f.rule for f in findings if f.level is Level.FAIL and f.waived is None})
    waived = sum(f.waived is not None for f in findings)
    y = box[3]
    marks: list[Mark] = []
    if failed:
        rules = "a rule has" if failed == 1 else f"{failed} rules have"
        marks, y = band(f"DO NOT CUT: {rules} failed, {failed_words}", FAIL, WHITE, (*box[:3], y))
    if waived:
        what = "1 finding is" if waived == 1 else f"{waived} findings are"
        more, y = band(f"WAIVED: {what} set aside on request, {waived_words}", WARN, INK, (*box[:3], y))
        marks = marks + more
    return marks, y


def band(text: str, face: Colour, words: Colour, box: Box) -> tuple[list[Mark], float]:
    """A filled band across the sheet; the y below it."""
    x0, _, x1, top = box
    low = top - _BANNER_MM * 1.55
    ring = (Point(x0, low), Point(x1, low), Point(x1, top), Point(x0, top))
    at = Point((x0 + x1) / 2, low + _BANNER_MM * 0.42)
    label = Label(text, at, _BANNER_MM, words, Weight.BOLD, Align.CENTRE, shows="banner")
    return [Fill((ring,), face, "banner"), label], low - 1.2
