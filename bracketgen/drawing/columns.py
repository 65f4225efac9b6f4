"""Words and tables as bands of paper that are poured into columns, page after page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from bracketgen.drawing.paper.lettering import DESCENT, LEADING, Weight, wrapped
from bracketgen.drawing.paper.palette import HAIR, INK, Colour
from bracketgen.drawing.sheet import Fill, Label, Mark, Stroke
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point

TEXT_MM: Final = 2.75
HEAD_MM: Final = 3.4
_CELL_MM: Final = 0.7
_GAP_MM: Final = 1.2


@dataclass(frozen=True, slots=True)
class Band:
    """A piece of a column: its marks hang from the upper left corner (0, 0).

    `needs_mm` is the paper that must be free where it begins (a heading needs its first line too); `head` stands above
    it again when it is the first of a further column.
    """

    height_mm: float
    marks: tuple[Mark, ...]
    needs_mm: float = 0.0
    head: tuple[Band, ...] = ()


@dataclass(frozen=True, slots=True)
class PrintedTable:
    """Rows under headings; `shares` are the columns' parts of the width."""

    title: str
    heads: tuple[str, ...]
    shares: tuple[float, ...]
    rows: tuple[tuple[str, ...], ...]
    shows: str = "table"


def moved(mark: Mark, by: Point) -> Mark:
    """The mark at another place."""
    match mark:
        case Label():
            return replace(mark, at=mark.at.plus(by))
        case Stroke():
            return replace(mark, points=tuple(p.plus(by) for p in mark.points))
        case Fill():
            return replace(mark, rings=tuple(tuple(p.plus(by) for p in ring) for ring in mark.rings))


def heading(text: str, width_mm: float) -> Band:
    """A bold line that keeps with what follows."""
    words = _paragraph(text, width_mm, HEAD_MM, Weight.BOLD, INK, "heading")
    marks = tuple(moved(m, Point(0.0, -1.6)) for m in words.marks)
    return Band(words.height_mm + 1.6, marks, words.height_mm + 16.0)


def paragraph(text: str, width_mm: float, weight: Weight = Weight.PLAIN, colour: Colour = INK,
              shows: str = "words") -> Band:  # fmt: skip
    """Some words in lines no wider than the column."""
    return _paragraph(text, width_mm, TEXT_MM, weight, colour, shows)


def _paragraph(text: str, width_mm: float, size: float, weight: Weight, colour: Colour, shows: str) -> Band:
    lines = wrapped(text, width_mm, size, weight)
    step = size * LEADING
    marks = tuple(
        Label(line, Point(0.0, -step * (i + 1) + DESCENT * size), size, colour, weight, shows=shows)
        for i, line in enumerate(lines)
    )
    return Band(step * len(lines) + _GAP_MM, marks)


def table_bands(table: PrintedTable, width_mm: float) -> list[Band]:
    """Title, headings, and a band a row; the headings stand again in every further column."""
    heads = _row(table.heads, table, width_mm, Weight.BOLD, "table head")
    rows = [replace(_row(r, table, width_mm, Weight.PLAIN, table.shows), head=(heads,)) for r in table.rows]
    title = heading(table.title, width_mm)
    first = heads.height_mm + (rows[0].height_mm if rows else 0.0)
    return [replace(title, needs_mm=title.height_mm + first), heads, *rows, Band(2.0, ())]


def _row(cells: Sequence[str], table: PrintedTable, width_mm: float, weight: Weight, shows: str) -> Band:
    whole = sum(table.shares)
    widths = [width_mm * s / whole for s in table.shares]
    texts = [wrapped(c, w - 2 * _CELL_MM, TEXT_MM, weight) for c, w in zip(cells, widths, strict=True)]
    step = TEXT_MM * LEADING
    marks: list[Mark] = []
    x = 0.0
    for lines, width in zip(texts, widths, strict=True):
        for i, line in enumerate(lines):
            at = Point(x + _CELL_MM, -step * (i + 1) + DESCENT * TEXT_MM)
            marks.append(Label(line, at, TEXT_MM, INK, weight, shows=shows))
        x += width
    height = step * max(1, *(len(t) for t in texts)) + 0.7
    bold = weight is Weight.BOLD
    below = (Point(0.0, -height), Point(width_mm, -height))
    marks.append(Stroke(below, 0.35 if bold else 0.13, INK if bold else HAIR))
    return Band(height, tuple(marks))


def pour(bands: Sequence[Band], columns: Sequence[Box]) -> tuple[list[Mark], list[Band]]:
    """The marks of as many bands as the columns hold, in order, and the bands that are left."""
    left = list(bands)
    marks: list[Mark] = []
    for box in columns:
        y, fresh = box[3], True
        while left:
            band = left[0]
            above = band.head if fresh and band.head else ()
            wanted = sum(b.height_mm for b in above) + max(band.height_mm, band.needs_mm)
            # A band taller than a whole column is drawn all the same, so that nothing is lost.
            if y - wanted < box[1] and not (fresh and wanted > box[3] - box[1]):
                break
            for piece in (*above, band):
                marks += [moved(m, Point(box[0], y)) for m in piece.marks]
                y -= piece.height_mm
            left.pop(0)
            fresh = False
    return marks, left
