"""Gaps between named things: how wide and how wide they must be, in words and in colours."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from bracketgen.drawing.columns import Band, half_width_mm, set_lines, two_columns
from bracketgen.drawing.marks.lettering import LEADING, Weight, one_line, text_width_mm, wrapped
from bracketgen.drawing.picture.head_and_foot import TEXT_MM, nothing
from bracketgen.drawing.sheet import FAIL, Colour
from bracketgen.geometry.plane import Point
from bracketgen.units import plain
from bracketgen.vehicle.near.solids import Gap3

#: So many gaps are marked in a view, and so many when they are all clear; the list holds them all.
MOST_MARKED: Final = 6
MOST_CLEAR: Final = 4
_AIR_MM: Final = 1.4


class Severity(StrEnum):
    """Whether a gap is as large as it must be."""

    FAIL = "fail"
    WARN = "warn"
    CLEAR = "clear"


#: Told apart also by readers who see no red or no green: they differ along blue to yellow and in lightness.
SEVERITY_COLOUR: Final[dict[Severity, Colour]] = {
    Severity.FAIL: FAIL,
    Severity.WARN: (184, 116, 0),
    Severity.CLEAR: (0, 92, 122),
}
#: Width and dash of a gap's arrow, mm.
SEVERITY_LINE: Final[dict[Severity, tuple[float, tuple[float, ...]]]] = {
    Severity.FAIL: (0.9, ()),
    Severity.WARN: (0.7, (1.6, 0.8)),
    Severity.CLEAR: (0.45, ()),
}


@dataclass(frozen=True, slots=True)
class GapMark:
    """The gap between two named things: how wide it is and where, how wide it must be (None: not known)."""

    a: str
    b: str
    gap: Gap3
    required_mm: float | None
    severity: Severity

    @property
    def margin_mm(self) -> float | None:
        """What the gap has over the required one; below 0 it lacks as much."""
        return None if self.required_mm is None else self.gap.mm - self.required_mm


def worst_first(gaps: tuple[GapMark, ...]) -> list[GapMark]:
    """Failing gaps first, then warnings, then clear ones, at last those that need nothing; the least margin first."""
    rank = {Severity.FAIL: 0, Severity.WARN: 1, Severity.CLEAR: 2}

    def weight(g: GapMark) -> tuple[int, float]:
        idle = g.severity is Severity.CLEAR and not g.required_mm
        return 3 if idle else rank[g.severity], g.gap.mm if g.margin_mm is None else g.margin_mm

    return sorted(gaps, key=weight)


def marked(gaps: Sequence[GapMark]) -> list[tuple[int, GapMark]]:
    """The gaps that a view marks, with their numbers: those that object, and of the clear ones the tightest.

    Clear gaps that need nothing are those of things that touch.
    """
    objecting = [(n, g) for n, g in enumerate(gaps, 1) if g.severity is not Severity.CLEAR]
    clear = [(n, g) for n, g in enumerate(gaps, 1) if g.severity is Severity.CLEAR and g.required_mm]
    return objecting[:MOST_MARKED] + clear[: max(0, MOST_CLEAR - len(objecting))]


def severity_word(mark: GapMark) -> str:
    """Such as 'TOO NEAR'."""
    if mark.gap.mm <= 0.0:
        return "THEY MEET" if mark.severity is Severity.FAIL else "touch"
    words = {Severity.FAIL: "TOO NEAR", Severity.WARN: "JUST", Severity.CLEAR: "clear"}
    return "NOT KNOWN" if mark.required_mm is None and mark.severity is Severity.FAIL else words[mark.severity]


def short_words(number: int, mark: GapMark) -> str:
    """What stands at a gap's arrow, such as '1  6.2 of 25 mm TOO NEAR'."""
    wanted = "?" if mark.required_mm is None else plain(mark.required_mm, 1)
    return f"{number}  {plain(max(0.0, mark.gap.mm), 1)} of {wanted} mm {severity_word(mark)}"


def whole_words(mark: GapMark) -> str:
    """A gap in a sentence."""
    pair = f"{one_line(mark.a)} to {one_line(mark.b)}"
    if mark.gap.mm <= 0.0:
        told = "they meet" if mark.gap.mm > -0.05 else f"{plain(-mark.gap.mm, 1)} mm into each other"
    else:
        told = f"{plain(mark.gap.mm, 1)} mm"
    if mark.required_mm is None or mark.margin_mm is None:
        return f"{pair}: {told}; how much is needed is not known."
    need = f"{pair}: {told}, needs {plain(mark.required_mm, 1)} mm"
    return f"{need} ({plain(abs(mark.margin_mm), 1)} {'short' if mark.margin_mm < 0.0 else 'to spare'})."


def gap_list(marks: Sequence[GapMark], width_mm: float, most_mm: float) -> Band:
    """The gaps in two columns, numbered as on the views; what does not fit is counted in a last line.

    Gaps that object may take twice as much room as clear ones.
    """
    if not marks:
        return nothing("No gaps were asked for.")
    heads = [f"{i}  {severity_word(m)}" for i, m in enumerate(marks, 1)]
    indent = max(text_width_mm(h, TEXT_MM, Weight.BOLD) for h in heads) + 2.0
    bands: list[Band] = []
    for number, (head, mark) in enumerate(zip(heads, marks, strict=True), 1):
        text = wrapped(whole_words(mark), half_width_mm(width_mm) - indent, TEXT_MM)
        first, shows = Point(0.0, -TEXT_MM * 1.05), f"gap {number}"
        words = set_lines([head], first, TEXT_MM, SEVERITY_COLOUR[mark.severity], Weight.BOLD, shows)
        words += set_lines(text, first.plus(Point(indent, 0.0)), TEXT_MM, shows=shows)
        bands.append(Band(len(text) * TEXT_MM * LEADING + _AIR_MM, tuple(words)))
    most = [most_mm * (1.0 if m.severity is Severity.CLEAR else 2.0) for m in marks]
    return two_columns(bands, width_mm, most, TEXT_MM)[0]
