"""What stands around a picture: frame, title, banners above it; findings in words and small print below it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from bracketgen.bending.flat import Flat
from bracketgen.drawing.columns import (
    CAUTION_MM,
    Band,
    entry,
    half_width_mm,
    paragraph,
    set_lines,
    stacked,
    two_columns,
)
from bracketgen.drawing.marks.callouts import RADIUS_MM, marker
from bracketgen.drawing.marks.lettering import LEADING, Weight, one_line, shortened, text_width_mm, wrapped
from bracketgen.drawing.sheet import (
    FAIL,
    FAINT,
    HAIR,
    HEIGHT_MM,
    INK,
    WARN,
    WHITE,
    WIDTH_MM,
    Align,
    Colour,
    Fill,
    Label,
    Mark,
    Sheet,
    Stroke,
    border,
    corners_of,
)
from bracketgen.findings import Finding, Level
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point
from bracketgen.part.mark import mark_words
from bracketgen.units import inches, plain

#: What the frame leaves for everything else.
INNER: Final[Box] = (8.0, 8.0, WIDTH_MM - 8.0, HEIGHT_MM - 8.0)
_FRAME: Final[Box] = (2.5, 2.5, WIDTH_MM - 2.5, HEIGHT_MM - 2.5)
_TITLE_SIZES: Final = (7.5, 6.2, 5.2)
_TEXT_MM: Final = 4.0
_SIZE_MM: Final = 5.6
_RIGHT_MM: Final = 78.0
_BANNER_MM: Final = 4.6


def framed(marks: Sequence[Mark]) -> Sheet:
    """The sheet with its frame."""
    return Sheet(WIDTH_MM, HEIGHT_MM, (border(_FRAME, 0.5), *marks))


# -- above

#: Paper that the title of a view takes.
VIEW_TITLE_MM: Final = 7.0


def view_title(text: str, box: Box, shows: str) -> Label:
    """What a view in `box` shows, in its upper left corner."""
    return Label(text, Point(box[0], box[3] - 4.6), 4.0, INK, Weight.BOLD, shows=shows)


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


def header(flat: Flat, findings: Sequence[Finding], box: Box, site_mark: str = "") -> tuple[list[Mark], float]:
    """Title, stock and size hung from the top of `box`, the banner below; and the y where they end."""
    marked = mark_words(flat.part.mark, ("site", site_mark) if site_mark else None)
    words = "  ·  ".join(w for w in (one_line(flat.part.name), stock_line(flat), marked) if w)
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
    below = wrapped(line[1], room, _TEXT_MM)
    marks += set_lines(below, Point(x0, y - _TEXT_MM * 1.05), _TEXT_MM, shows=line[0])
    y = min(y - _TEXT_MM * (1.05 + LEADING * len(below)) + 2.6, top - 15.5)
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
    rules = "a rule has" if failed == 1 else f"{failed} rules have"
    what = "1 finding is" if waived == 1 else f"{waived} findings are"
    cut = f"DO NOT CUT: {rules} failed, {failed_words}" if failed else ""
    marks, y = band(cut, FAIL, WHITE, box)
    aside = f"WAIVED: {what} set aside on request, {waived_words}" if waived else ""
    more, y = band(aside, WARN, INK, (*box[:3], y))
    return marks + more, y


def band(text: str, face: Colour, words: Colour, box: Box) -> tuple[list[Mark], float]:
    """A filled band across the sheet, none without a text; the y below it."""
    x0, _, x1, top = box
    if not text:
        return [], top
    low = top - _BANNER_MM * 1.55
    ring = corners_of((x0, low, x1, top))
    at = Point((x0 + x1) / 2, low + _BANNER_MM * 0.42)
    label = Label(text, at, _BANNER_MM, words, Weight.BOLD, Align.CENTRE, shows="banner")
    return [Fill((ring,), face, "banner"), label], low - 1.2


# -- below
#
# Findings are numbered as they are marked on the picture.

TEXT_MM: Final = 3.2
SMALL_MM: Final = 2.8
_INDENT_MM: Final = 2 * RADIUS_MM + 1.6


@dataclass(frozen=True, slots=True)
class Numbered:
    """A finding with its number on the sheet, from 1."""

    number: int
    finding: Finding


def numbered(findings: Sequence[Finding]) -> list[Numbered]:
    """The findings in the order of their weight: what fails, what was waived, warnings, notes."""
    rank = {Level.FAIL: 0, Level.WARN: 2, Level.NOTE: 3}
    ordered = sorted(findings, key=lambda f: 1 if f.waived is not None else rank[f.level])
    return [Numbered(i, f) for i, f in enumerate(ordered, 1)]


def finding_text(finding: Finding) -> str:
    """One finding in words: level, rule, subject, measured and required, remedy, and the waiver's reason."""
    level = f"WAIVED ({finding.level})" if finding.waived is not None else finding.level.upper()
    parts = [f"{level}  {finding.subject}, {finding.rule}"]
    if finding.measured is not None:
        parts[0] += f": {plain(finding.measured)} {finding.unit}".rstrip()
        if finding.required is not None:
            parts[0] += f", required {plain(finding.required)} {finding.unit}".rstrip()
    parts.append(finding.remedy[:1].upper() + finding.remedy[1:])
    if finding.waived is not None:
        parts.append(f"Waived because: {finding.waived}")
    return ". ".join(one_line(p).rstrip(".") for p in parts if p.strip()) + "."


def findings_band(entries: Sequence[Numbered], width_mm: float, most_mm: float) -> tuple[Band, list[Numbered]]:
    """As many findings as fit into `most_mm` of height in two columns, and those that are listed.

    What does not fit is counted in a last line; a text is never cut.
    """
    if not entries:
        return nothing("No findings: every rule was tried, none objects."), []
    bands: list[Band] = []
    for one in entries:
        disc = marker(one.number, one.finding, Point(RADIUS_MM, -RADIUS_MM))
        text, width = finding_text(one.finding), half_width_mm(width_mm)
        bands.append(entry(disc, text, _INDENT_MM, width, TEXT_MM, f"finding {one.number}"))
    listed, count = two_columns(bands, width_mm, [most_mm] * len(bands), TEXT_MM)
    return listed, list(entries[:count])


def nothing(words: str) -> Band:
    """A line that says so instead of a list."""
    return paragraph(words, INNER[2] - INNER[0], shows="", size_mm=TEXT_MM, gap_mm=0.0)


def small_print(texts: Sequence[str], width_mm: float, colour: Colour = FAINT, size_mm: float = SMALL_MM) -> Band:
    """Texts run together to save room, whole."""
    said = (one_line(t) for t in texts if t.strip())
    text = " ".join(t if t.endswith((".", "!", "?")) else f"{t}." for t in said)
    return paragraph(text, width_mm, colour=colour, shows="small print", size_mm=size_mm, gap_mm=0.0)


def foot(listed: Band, notes: Sequence[str], box: Box, cautions: Sequence[str] = ()) -> tuple[list[Mark], float]:
    """Cautions over a list over small print at the foot of `box`, a rule above; and the y where the picture may end."""
    x0, y0, x1, _ = box
    small = small_print(notes, x1 - x0)
    said = small_print(cautions, x1 - x0, INK, CAUTION_MM) if cautions else Band(0.0, ())
    high = y0 + small.height_mm
    above = stacked((said, Band(1.0 if cautions else 0.0, ()), listed))
    low = high + 1.0 + above.height_mm
    rule = Stroke((Point(x0, low + 1.5), Point(x1, low + 1.5)), 0.3, HAIR)
    return [rule, *above.at(Point(x0, low)), *small.at(Point(x0, high))], low + 3.0
