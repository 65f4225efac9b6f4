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
from bracketgen.geometry.point import Point

TEXT_MM: Final = 3.2
SMALL_MM: Final = 2.8
_COLUMNS: Final = 2
_BETWEEN_MM: Final = 6.0
_INDENT_MM: Final = 2 * RADIUS_MM + 1.6
_GAP_MM: Final = 1.6


@dataclass(frozen=True, slots=True)
class Numbered:
    """A finding with its number on the sheet, from 1."""

    number: int
    finding: Finding


@dataclass(frozen=True, slots=True)
class Block:
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
    parts.append(_capital(finding.remedy))
    if finding.waived is not None:
        parts.append(f"Waived because: {finding.waived}")
    return ". ".join(one_line(p).rstrip(".") for p in parts if p.strip()) + "."


def _sentence(text: str) -> str:
    plain_text = one_line(text)
    return plain_text if plain_text.endswith((".", "!", "?")) else f"{plain_text}."


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def findings_block(entries: Sequence[Numbered], width_mm: float, most_mm: float) -> tuple[Block, list[Numbered]]:
    """As many findings as fit into `most_mm` of height in two columns, and those that are listed.

    What does not fit is counted in a last line; a text is never cut.
    """
    if not entries:
        line = Label("No findings: every rule was tried, none objects.", Point(0.0, 0.0), TEXT_MM, INK)
        return Block(TEXT_MM * LEADING, ((Point(0.0, -TEXT_MM), line),)), []
    column = (width_mm - _BETWEEN_MM * (_COLUMNS - 1)) / _COLUMNS
    texts = [wrapped(finding_text(e.finding), column - _INDENT_MM, TEXT_MM) for e in entries]
    for count in range(len(entries), 0, -1):
        rest = len(entries) - count
        split = _split([_height(t) for t in texts[:count]])
        heights = _column_heights(texts[:count], split)
        footer = TEXT_MM * LEADING if rest else 0.0
        if max(heights) + footer <= most_mm or count == 1:
            return _drawn(entries[:count], texts, split, column, rest), list(entries[:count])
    raise AssertionError("one finding is always listed")


def _height(lines: Sequence[str]) -> float:
    return max(len(lines) * TEXT_MM * LEADING, 2 * RADIUS_MM) + _GAP_MM


def _split(heights: Sequence[float]) -> int:
    """How many entries go into the first column so that the taller column is as short as can be."""
    return min(range(1, len(heights) + 1), key=lambda k: max(sum(heights[:k]), sum(heights[k:])))


def _column_heights(texts: Sequence[Sequence[str]], split: int) -> tuple[float, float]:
    return sum(map(_height, texts[:split])), sum(map(_height, texts[split:]))


def _drawn(entries: Sequence[Numbered], texts: Sequence[Sequence[str]], split: int, column: float, rest: int) -> Block:
    lines: list[tuple[Point, Label]] = []
    markers: list[tuple[Point, Numbered]] = []
    x, y, lowest = 0.0, 0.0, 0.0
    for i, entry in enumerate(entries):
        if i == split:
            x, y = column + _BETWEEN_MM, 0.0
        markers.append((Point(x + RADIUS_MM, y - RADIUS_MM), entry))
        lines += _text_lines(texts[i], Point(x + _INDENT_MM, y), f"finding {entry.number}")
        y -= _height(texts[i])
        lowest = min(lowest, y)
    if rest:
        more = Label(f"and {rest} more, see the printed summary", Point(0.0, 0.0), TEXT_MM, INK, Weight.BOLD)
        lines.append((Point(_INDENT_MM, lowest - TEXT_MM * 0.9), more))
        lowest -= TEXT_MM * LEADING
    return Block(-lowest, tuple(lines), tuple(markers))


def _text_lines(texts: Sequence[str], corner: Point, shows: str) -> list[tuple[Point, Label]]:
    made: list[tuple[Point, Label]] = []
    for row, text in enumerate(texts):
        label = Label(text, Point(0.0, 0.0), TEXT_MM, INK, Weight.PLAIN, shows=shows)
        made.append((corner.plus(Point(0.0, -TEXT_MM * (1.05 + LEADING * row))), label))
    return made


def small_print(texts: Sequence[str], width_mm: float) -> Block:
    """Cautions and notes, run together to save room, whole."""
    lines = wrapped(" ".join(_sentence(t) for t in texts if t.strip()), width_mm, SMALL_MM)
    step = SMALL_MM * LEADING
    made = tuple(
        (Point(0.0, -SMALL_MM - step * row), Label(text, Point(0.0, 0.0), SMALL_MM, FAINT, shows="small print"))
        for row, text in enumerate(lines)
    )
    return Block(step * len(lines), made)
