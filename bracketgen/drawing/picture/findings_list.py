"""The findings in words, numbered as they are marked on the view, and the sheet's small print."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from bracketgen.drawing.marks.finding_markers import RADIUS_MM, marker
from bracketgen.drawing.marks.plain_numbers import plain
from bracketgen.drawing.paper.lettering import LEADING, Weight, one_line, wrapped
from bracketgen.drawing.paper.palette import FAINT, INK
from bracketgen.drawing.sheet import Label, Mark
from bracketgen.findings import Finding, Level
from bracketgen.geometry.plane import Point

TEXT_MM: Final = 3.2
SMALL_MM: Final = 2.8
_BETWEEN_MM: Final = 6.0
_INDENT_MM: Final = 2 * RADIUS_MM + 1.6
_GAP_MM: Final = 1.6


@dataclass(frozen=True, slots=True)
class Numbered:
    """A finding with its number on the sheet, from 1."""

    number: int
    finding: Finding


@dataclass(frozen=True, slots=True)
class TextBlock:
    """Marks that hang from the top of their place: `height_mm` and what to draw for a top left corner."""

    height_mm: float
    lines: tuple[tuple[Point, Label], ...]
    markers: tuple[tuple[Point, Numbered], ...] = ()

    def at(self, corner: Point) -> list[Mark]:
        """The block drawn with its top left corner at `corner`."""
        marks: list[Mark] = []
        for offset, entry in self.markers:
            marks += marker(entry.number, entry.finding, corner.plus(offset))
        for offset, line in self.lines:
            at = corner.plus(offset)
            marks.append(Label(line.text, at, line.size_mm, line.colour, line.weight, shows=line.shows))
        return marks


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


def findings_block(entries: Sequence[Numbered], width_mm: float, most_mm: float) -> tuple[TextBlock, list[Numbered]]:
    """As many findings as fit into `most_mm` of height in two columns, and those that are listed.

    What does not fit is counted in a last line; a text is never cut.
    """
    if not entries:
        line = Label("No findings: every rule was tried, none objects.", Point(0.0, 0.0), TEXT_MM, INK)
        return TextBlock(TEXT_MM * LEADING, ((Point(0.0, -TEXT_MM), line),)), []
    column = (width_mm - _BETWEEN_MM) / 2
    texts = [wrapped(finding_text(e.finding), column - _INDENT_MM, TEXT_MM) for e in entries]
    heights = [max(len(t) * TEXT_MM * LEADING, 2 * RADIUS_MM) + _GAP_MM for t in texts]
    for count in range(len(entries), 0, -1):
        # So many go into the first column that the taller column is as short as can be.
        tallest, split = min((max(sum(heights[:k]), sum(heights[k:count])), k) for k in range(1, count + 1))
        rest = len(entries) - count
        if tallest + (TEXT_MM * LEADING if rest else 0.0) <= most_mm:
            break
    lines: list[tuple[Point, Label]] = []
    markers: list[tuple[Point, Numbered]] = []
    x, y, lowest = 0.0, 0.0, 0.0
    for i, (entry, text) in enumerate(zip(entries[:count], texts, strict=False)):
        if i == split:
            x, y = column + _BETWEEN_MM, 0.0
        markers.append((Point(x + RADIUS_MM, y - RADIUS_MM), entry))
        for row, words in enumerate(text):
            at = Point(x + _INDENT_MM, y - TEXT_MM * (1.05 + LEADING * row))
            lines.append((at, Label(words, Point(0.0, 0.0), TEXT_MM, INK, shows=f"finding {entry.number}")))
        y -= heights[i]
        lowest = min(lowest, y)
    if rest:
        more = Label(f"and {rest} more, see the printed summary", Point(0.0, 0.0), TEXT_MM, INK, Weight.BOLD)
        lines.append((Point(_INDENT_MM, lowest - TEXT_MM * 0.9), more))
        lowest -= TEXT_MM * LEADING
    return TextBlock(-lowest, tuple(lines), tuple(markers)), list(entries[:count])


def small_print(texts: Sequence[str], width_mm: float) -> TextBlock:
    """Cautions and notes, run together to save room, whole."""
    said = (one_line(t) for t in texts if t.strip())
    lines = wrapped(" ".join(t if t.endswith((".", "!", "?")) else f"{t}." for t in said), width_mm, SMALL_MM)
    step = SMALL_MM * LEADING
    made = tuple(
        (Point(0.0, -SMALL_MM - step * row), Label(text, Point(0.0, 0.0), SMALL_MM, FAINT, shows="small print"))
        for row, text in enumerate(lines)
    )
    return TextBlock(step * len(lines), made)
