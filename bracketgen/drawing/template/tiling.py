"""The sheets of a template: the areas of the paper, the map from the flat onto it, tiles and their seams."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from typing import Final

from bracketgen.bending.flat import Flat
from bracketgen.drawing.marks.paper_map import edge_points, ring_points
from bracketgen.drawing.paper_size import Paper
from bracketgen.geometry.contour import Cut, Edge, holds
from bracketgen.geometry.edge import Box, Line
from bracketgen.geometry.plane import Point

#: What a printer for home and office takes.
PAPERS: Final = (Paper.A4, Paper.LETTER)
#: No ink nearer to the paper's edge than this: printers for home and office leave 3 to 7 mm white, some more at the
#: end where the paper leaves (common practice, no source).
MARGIN_MM: Final = 10.0
#: Strips along two edges that hold the bars, and the head of every sheet.
STRIP_MM: Final = 10.0
HEAD_MM: Final = 21.5


@dataclass(frozen=True, slots=True)
class PageAreas:
    """One sheet's size and areas, mm; `window` is where the part is drawn."""

    width_mm: float
    height_mm: float

    @property
    def window(self) -> Box:
        """Right of one strip, above the other, below the head."""
        low = MARGIN_MM + STRIP_MM
        return (low, low, self.width_mm - MARGIN_MM, self.height_mm - MARGIN_MM - HEAD_MM)

    @property
    def head(self) -> Box:
        """Along the upper edge."""
        top = self.height_mm - MARGIN_MM
        return (MARGIN_MM, top - HEAD_MM, self.width_mm - MARGIN_MM, top)


# -- from the flat to the paper, seen on either face, and corrected for a printer that is off

#: How far a chord may stray from its arc, mm: a third of the 0.01 mm that a template promises.
CHORD_MM = 0.003


class FaceUp(StrEnum):
    """Which face of the flat looks at the reader; the back is the described face's other side."""

    DESCRIBED = "described"
    BACK = "back"


@dataclass(frozen=True, slots=True)
class PlaneMap:
    """Puts `corner` (x right, y up as the reader sees the face) to `at` on the paper, `per_mm` of paper a mm."""

    face: FaceUp
    corner: Point
    at: Point
    per_mm: tuple[float, float]

    def point(self, p: Point) -> Point:
        """Where a point of the flat comes to lie on the paper."""
        seen = seen_from(self.face, p).minus(self.corner)
        return Point(self.at.x + seen.x * self.per_mm[0], self.at.y + seen.y * self.per_mm[1])

    def ring(self, cut: Cut) -> tuple[Point, ...]:
        """A closed chain on the paper, its first point again at the end."""
        points = [self.point(p) for p in ring_points(cut, CHORD_MM)]
        return (*points, points[0])

    def edge(self, edge: Edge) -> tuple[Point, ...]:
        """An edge on the paper, from end to end."""
        return tuple(map(self.point, (*edge_points(edge, CHORD_MM), edge.end)))

    def box(self, box: Box) -> Box:
        """The box on the paper around a box of the flat."""
        a, b = self.point(Point(box[0], box[1])), self.point(Point(box[2], box[3]))
        return (min(a.x, b.x), min(a.y, b.y), max(a.x, b.x), max(a.y, b.y))

    def line(self, line: Line) -> tuple[Point, Point]:
        """A straight line's ends on the paper."""
        return self.point(line.start), self.point(line.end)


def seen_from(face: FaceUp, p: Point) -> Point:
    """A point of the flat as it lies before a reader of this face: the back is turned over about the y axis."""
    return p if face is FaceUp.DESCRIBED else Point(-p.x, p.y)


def seen_box(face: FaceUp, box: Box) -> Box:
    """A box of the flat as it lies before a reader of this face."""
    return box if face is FaceUp.DESCRIBED else (-box[2], box[1], -box[0], box[3])


# -- what of a chain of lines lies inside an upright box


def clipped(points: Sequence[Point], box: Box) -> list[tuple[Point, ...]]:
    """The pieces of a chain inside `box`, each in the chain's order; the whole chain when nothing is cut off."""
    pieces: list[list[Point]] = []
    for a, b in pairwise(points):
        inside = _segment(a, b, box)
        if inside is None:
            continue
        start, end = inside
        if pieces and pieces[-1][-1] == start == a:
            pieces[-1].append(end)
        else:
            pieces.append([start, end])
    return [tuple(p) for p in pieces]


def _segment(a: Point, b: Point, box: Box) -> tuple[Point, Point] | None:
    """The part of a straight segment inside the box (Liang and Barsky, 1984)."""
    d = b.minus(a)
    first, last = 0.0, 1.0
    for slope, room in ((-d.x, a.x - box[0]), (d.x, box[2] - a.x), (-d.y, a.y - box[1]), (d.y, box[3] - a.y)):
        if slope == 0.0:
            if room < 0.0:
                return None
        elif slope < 0.0:
            first = max(first, room / slope)
        else:
            last = min(last, room / slope)
    if first >= last:
        return None
    return (a if first == 0.0 else a.plus(d, first), b if last == 1.0 else a.plus(d, last))


def meet(a: Box, b: Box, spare_mm: float = 0.0) -> bool:
    """Whether two boxes come as near as `spare_mm`."""
    return a[0] <= b[2] + spare_mm and b[0] <= a[2] + spare_mm and a[1] <= b[3] + spare_mm and b[1] <= a[3] + spare_mm


# -- how a flat that is larger than a sheet is spread over several

#: What two neighbouring sheets both show, mm: room for a strip of tape and two crosses (common practice, no source).
OVERLAP_MM: Final = 14.0
#: Kept free around the flat, so that its edge never lies on the window's.
_AIR_MM: Final = 3.0
#: Where a seam's crosses stand, as shares of its length from its ends, the best first.
_CROSS_SHARES: Final = (0.2, 0.16, 0.24, 0.12, 0.28, 0.32)
#: From a cross to the nearest hole's edge: both cross-hairs and a little air.
_CROSS_AIR_MM: Final = 9.0
#: Printed length over true length, across and up the sheet.
Scale = tuple[float, float]
TRUE: Final[Scale] = (1.0, 1.0)


@dataclass(frozen=True, slots=True)
class Template:
    """What a template is of, and for which printer; `notice` is a warning that stands on every sheet."""

    flat: Flat
    face: FaceUp
    paper: Paper
    scale: Scale
    notice: str = ""


@dataclass(frozen=True, slots=True)
class Tile:
    """One sheet: its number from 1, its place from the upper left, and the box of the seen flat that it shows."""

    number: int
    row: int
    column: int
    shows: Box


@dataclass(frozen=True, slots=True)
class Tiling:
    """All sheets of a template; those without a trace of metal are left out."""

    face: FaceUp
    layout: PageAreas
    scale: Scale
    tiles: tuple[Tile, ...]

    def map_of(self, tile: Tile) -> PlaneMap:
        """From the flat to a sheet, stretched so that the printer's error is undone."""
        window = self.layout.window
        per_mm = (1.0 / self.scale[0], 1.0 / self.scale[1])
        return PlaneMap(self.face, Point(tile.shows[0], tile.shows[1]), Point(window[0], window[1]), per_mm)

    def at(self, row: int, column: int) -> Tile | None:
        """The sheet at a place; None where none is needed."""
        return next((t for t in self.tiles if (t.row, t.column) == (row, column)), None)


def tiling(flat: Flat, face: FaceUp, paper: Paper, scale: Scale) -> Tiling:
    """The fewest sheets, all lying alike.

    How they lie doesn't depend on `scale`: a printer's error belongs to the paper's directions, so a corrected
    template must lie as the one that was measured.
    """
    bounds = seen_box(face, flat.bounds_mm)
    lying = [PageAreas(*size) for size in (paper.upright, paper.level)]
    layout = min(lying, key=lambda way: math.prod(_counts(bounds, way, TRUE)))
    columns, rows = _counts(bounds, layout, scale)
    reach = _reach(layout, scale)
    xs = _starts(bounds[0], bounds[2], reach[0], columns)
    ys = _starts(bounds[1], bounds[3], reach[1], rows)[::-1]
    places = [(r, c, (x, y, x + reach[0], y + reach[1])) for r, y in enumerate(ys, 1) for c, x in enumerate(xs, 1)]
    needed = [place for place in places if _has_metal(flat, face, place[2])]
    return Tiling(face, layout, scale, tuple(Tile(i, *place) for i, place in enumerate(needed, 1)))


def _reach(layout: PageAreas, scale: Scale) -> tuple[float, float]:
    """How much of the flat one sheet shows, mm."""
    x0, y0, x1, y1 = layout.window
    return ((x1 - x0) * scale[0], (y1 - y0) * scale[1])


def _counts(bounds: Box, layout: PageAreas, scale: Scale) -> tuple[int, int]:
    """Columns and rows of sheets."""
    sizes = (bounds[2] - bounds[0] + 2 * _AIR_MM, bounds[3] - bounds[1] + 2 * _AIR_MM)
    reach = _reach(layout, scale)
    columns, rows = (
        1 if size <= room else math.ceil((size - OVERLAP_MM) / (room - OVERLAP_MM))
        for size, room in zip(sizes, reach, strict=True)
    )
    return columns, rows


def _starts(low: float, high: float, reach: float, count: int) -> list[float]:
    """Where each sheet begins, so that the flat lies in the middle of all."""
    step = reach - OVERLAP_MM
    first = (low + high - (count - 1) * step - reach) / 2
    return [first + i * step for i in range(count)]


def _has_metal(flat: Flat, face: FaceUp, box: Box) -> bool:
    """Whether a sheet would show anything of the part."""
    chain = [seen_from(face, p) for p in ring_points(flat.outline, 0.1)]
    middle = Point((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
    return bool(clipped([*chain, chain[0]], box)) or holds(flat.outline, seen_from(face, middle))


@dataclass(frozen=True, slots=True)
class Seam:
    """Where two neighbouring sheets meet: what of the seen flat both show, its middle, and its crosses by name."""

    tiles: tuple[Tile, Tile]
    both: Box
    line: tuple[Point, Point]
    crosses: tuple[tuple[str, Point], ...]

    def other(self, tile: Tile) -> Tile:
        """The neighbour across the seam."""
        return self.tiles[1] if tile.number == self.tiles[0].number else self.tiles[0]


def seams(flat: Flat, tiling_: Tiling) -> list[Seam]:
    """Every seam between two sheets, in the plane of the seen face; crosses are named 1a, 1b, 2a ..."""
    found: list[tuple[Tile, Tile]] = []
    for tile in tiling_.tiles:
        neighbours = (tiling_.at(tile.row, tile.column + 1), tiling_.at(tile.row + 1, tile.column))
        found += [(tile, other) for other in neighbours if other is not None]
    busy = [seen_box(tiling_.face, h.cut.bounds()) for h in flat.holes]
    return [_seam(i, *pair, busy) for i, pair in enumerate(found, 1)]


def _seam(number: int, a: Tile, b: Tile, busy: Sequence[Box]) -> Seam:
    (ax0, ay0, ax1, ay1), (bx0, by0, bx1, by1) = a.shows, b.shows
    both = x0, y0, x1, y1 = max(ax0, bx0), max(ay0, by0), min(ax1, bx1), min(ay1, by1)
    if a.row == b.row:
        ends = (Point((x0 + x1) / 2, y0), Point((x0 + x1) / 2, y1))
    else:
        ends = (Point(x0, (y0 + y1) / 2), Point(x1, (y0 + y1) / 2))
    along = ends[1].minus(ends[0])
    places = [[ends[0].plus(along, abs(end - share)) for share in _CROSS_SHARES] for end in (0.0, 1.0)]
    crosses = []
    for name, tries in zip("ab", places, strict=True):
        # Away from every hole, so that nobody takes a cross for a hole's centre.
        clear = (p for p in tries if not any(meet((*p, *p), box, _CROSS_AIR_MM) for box in busy))
        crosses.append((f"{number}{name}", next(clear, tries[0])))
    return Seam((a, b), both, ends, tuple(crosses))
