"""Words and tables as bands of paper: hung below each other in columns, page after page, or side by side in two."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final

from bracketgen.drawing.marks.lettering import DESCENT, LEADING, Weight, text_width_mm, wrapped
from bracketgen.drawing.sheet import HAIR, INK, Align, Colour, Fill, Label, Mark, Stroke
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point

TEXT_MM: Final = 2.75
HEAD_MM: Final = 3.4
#: Letters of cautions: their capitals are 2.5 mm high.
CAUTION_MM: Final = 3.45
_CELL_MM: Final = 0.7
_GAP_MM: Final = 1.2
#: Between two columns side by side.
_BETWEEN_MM: Final = 6.0
#: A table by content keeps this much free in each column, and spreads at most so much of what is left.
_COLUMN_GAP_MM: Final = 3.0
_MOST_SPREAD_MM: Final = 6.0


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

    def at(self, corner: Point) -> list[Mark]:
        """Its marks when it hangs from `corner`."""
        return [moved(m, corner) for m in self.marks]


def moved(mark: Mark, by: Point) -> Mark:
    """The mark at another place."""
    match mark:
        case Label():
            return replace(mark, at=mark.at.plus(by))
        case Stroke():
            return replace(mark, points=tuple(p.plus(by) for p in mark.points))
        case Fill():
            return replace(mark, rings=tuple(tuple(p.plus(by) for p in ring) for ring in mark.rings))


def stacked(bands: Iterable[Band]) -> Band:
    """The bands below each other as one."""
    marks: list[Mark] = []
    y = 0.0
    for band in bands:
        marks += band.at(Point(0.0, y))
        y -= band.height_mm
    return Band(-y, tuple(marks))


# -- words


def set_lines(
    texts: Iterable[str], at: Point, size_mm: float, colour: Colour = INK, weight: Weight = Weight.PLAIN,
    shows: str = "",
) -> list[Label]:  # fmt: skip
    """Lines below each other, the base line of the first at `at`."""
    step = size_mm * LEADING
    return [
        Label(text, Point(at.x, at.y - step * i), size_mm, colour, weight, shows=shows) for i, text in enumerate(texts)
    ]


def paragraph(text: str, width_mm: float, weight: Weight = Weight.PLAIN, colour: Colour = INK, shows: str = "words",
              size_mm: float = TEXT_MM, gap_mm: float = _GAP_MM) -> Band:  # fmt: skip
    """Some words in lines no wider than the column, as they are where one line holds them; a gap below."""
    fits = text.isprintable() and text_width_mm(text, size_mm, weight) <= width_mm
    lines = [text] if fits else wrapped(text, width_mm, size_mm, weight)
    step = size_mm * LEADING
    marks = set_lines(lines, Point(0.0, DESCENT * size_mm - step), size_mm, colour, weight, shows)
    return Band(step * len(lines) + gap_mm, tuple(marks))


def caution_bands(texts: Iterable[str], width_mm: float) -> list[Band]:
    """The cautions of a paper under their heading, in letters that are read."""
    said = (paragraph(text, width_mm, shows="caution", size_mm=CAUTION_MM) for text in texts)
    return [heading("Cautions", width_mm), *said]


def heading(text: str, width_mm: float, size_mm: float = HEAD_MM, shows: str = "heading") -> Band:
    """A bold line that keeps with what follows."""
    words = paragraph(text, width_mm, Weight.BOLD, shows=shows, size_mm=size_mm)
    height = words.height_mm + 1.6
    return Band(height, tuple(words.at(Point(0.0, -1.6))), height + 14.4)


def entry(head: Sequence[Mark], text: str, indent_mm: float, width_mm: float, size_mm: float, shows: str) -> Band:
    """Some words beside what they are about: a word or a marker that hangs in the upper left corner."""
    lines = wrapped(text, width_mm - indent_mm, size_mm)
    words = set_lines(lines, first_line(indent_mm, size_mm), size_mm, shows=shows)
    tallest = max([size_mm * LEADING * len(lines), *(-p.y for m in head if isinstance(m, Stroke) for p in m.points)])
    return Band(tallest + 1.4, (*head, *words))


def first_line(x: float, size_mm: float) -> Point:
    """Where the first line of an entry begins."""
    return Point(x, -size_mm * 1.05)


# -- tables


@dataclass(frozen=True, slots=True)
class PrintedTable:
    """Rows under headings; `shares` are the columns' parts of the width (none: as wide as what stands in them).

    `shows` is what its rows show, with {} for a row's number where that matters. Columns from
    `right_from` on end at the right.
    """

    title: str
    heads: tuple[str, ...]
    shares: tuple[float, ...]
    rows: tuple[tuple[str, ...], ...]
    shows: str = "table"
    right_from: int = 99


def table_bands(table: PrintedTable, width_mm: float, sizes_mm: Sequence[float] = (TEXT_MM,)) -> list[Band]:
    """Title, headings, and a band a row; the headings stand again in every further column.

    In the largest of the letter sizes in which every cell needs one line, else in the smallest; a cell that is too
    wide for its column goes on in further lines.
    """
    size, widths = _widths(table, width_mm, sizes_mm)
    air = 2 * _CELL_MM if table.shares else _COLUMN_GAP_MM

    def band(cells: Sequence[str], weight: Weight, shows: str) -> Band:
        texts = [wrapped(c, w - air, size, weight) for c, w in zip(cells, widths, strict=True)]
        step, bold = size * LEADING, weight is Weight.BOLD
        marks: list[Mark] = []
        x = 0.0
        for column, (lines, width) in enumerate(zip(texts, widths, strict=True)):
            own = set_lines(lines, Point(x + _CELL_MM, DESCENT * size - step), size, INK, weight, shows)
            if column >= table.right_from:
                own = [replace(m, at=Point(x + width - _CELL_MM, m.at.y), align=Align.RIGHT) for m in own]
            marks += own
            x += width
        height = step * max(1, *(len(t) for t in texts)) + 0.7
        marks.append(Stroke((Point(0.0, -height), Point(x, -height)), 0.35 if bold else 0.13, INK if bold else HAIR))
        return Band(height, tuple(marks))

    heads = band(table.heads, Weight.BOLD, "table head")
    rows = [
        replace(band(row, Weight.PLAIN, table.shows.format(n)), head=(heads,)) for n, row in enumerate(table.rows, 1)
    ]
    first = heads.height_mm + (rows[0].height_mm if rows else 0.0)
    title = [heading(table.title, width_mm)] if table.title else []
    return [*(replace(t, needs_mm=t.height_mm + first) for t in title), heads, *rows, Band(2.0, ())]


def _widths(table: PrintedTable, width_mm: float, sizes_mm: Sequence[float]) -> tuple[float, list[float]]:
    """The letter size and the columns' widths."""
    if table.shares:
        whole = sum(table.shares)
        return sizes_mm[-1], [width_mm * s / whole for s in table.shares]
    for size in sizes_mm:
        wanted = [_wanted(i, table, size) for i in range(len(table.heads))]
        if sum(wanted) <= width_mm:
            break
    spare = width_mm - sum(wanted)
    if spare < 0.0:
        return size, _narrowed(wanted, width_mm)
    return size, [w + min(spare / len(wanted), _MOST_SPREAD_MM) for w in wanted]


def _wanted(column: int, table: PrintedTable, size: float) -> float:
    """What the widest cell needs in one line, and the heading in two."""
    words = table.heads[column].split()
    halves = ((" ".join(words[:k]), " ".join(words[k:])) for k in range(1, len(words) + 1))
    least = min(max(text_width_mm(half, size, Weight.BOLD) for half in pair) for pair in halves)
    return max(least, *(text_width_mm(row[column], size) for row in table.rows)) + _COLUMN_GAP_MM


def _narrowed(wanted: Sequence[float], width_mm: float) -> list[float]:
    """All columns cut to one most width, such that together they take the whole width."""
    left, most = width_mm, 0.0
    for n, wide in enumerate(sorted(wanted)):
        most = left / (len(wanted) - n)
        if wide > most:
            break
        left -= wide
    return [min(w, most) for w in wanted]


# -- bands on paper


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
                marks += piece.at(Point(box[0], y))
                y -= piece.height_mm
            left.pop(0)
            fresh = False
    return marks, left


def grid(area: Box, columns: int, rows: int, between_mm: float) -> list[Box]:
    """Equal boxes, row by row from the upper left."""
    x0, y0, x1, y1 = area
    wide, high = (x1 - x0 + between_mm) / columns, (y1 - y0 + between_mm) / rows
    corners = [(x0 + wide * c, y1 - high * r) for r in range(rows) for c in range(columns)]
    return [(x, y - high + between_mm, x + wide - between_mm, y) for x, y in corners]


def half_width_mm(width_mm: float) -> float:
    """The width of each of two columns side by side."""
    return (width_mm - _BETWEEN_MM) / 2


def two_columns(bands: Sequence[Band], width_mm: float, most_mm: Sequence[float], size_mm: float) -> tuple[Band, int]:
    """As many bands as fit side by side, the taller column as short as can be, and their count; one at least.

    `most_mm` says for each band how high the whole may be that ends with it. A last line counts what does not fit.
    """
    heights = [b.height_mm for b in bands]
    line = size_mm * LEADING
    for count in range(len(bands), 0, -1):
        tallest, split = min((max(sum(heights[:k]), sum(heights[k:count])), k) for k in range(1, count + 1))
        rest = len(bands) - count
        if tallest + (line if rest else 0.0) <= most_mm[count - 1]:
            break
    left, right = stacked(bands[:split]), stacked(bands[split:count])
    marks = [*left.marks, *right.at(Point(half_width_mm(width_mm) + _BETWEEN_MM, 0.0))]
    if rest:
        more = f"and {rest} more, see the printed summary"
        marks += set_lines([more], Point(0.0, -tallest - 0.9 * size_mm), size_mm, weight=Weight.BOLD)
        tallest += line
    return Band(tallest, tuple(marks)), count
