"""How a flat that is larger than a sheet is spread over several."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from bracketgen.bending.flat import Flat
from bracketgen.drawing.one_to_one.clipping import clipped, meet
from bracketgen.drawing.one_to_one.paper_size import Layout, Lie, PaperSize
from bracketgen.drawing.one_to_one.plane_map import Face, PlaneMap, seen_box, seen_from
from bracketgen.drawing.paper.trace import ring_points
from bracketgen.geometry.contour import holds
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point

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

    face: Face
    layout: Layout
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


def tiling(flat: Flat, face: Face, paper: PaperSize, scale: Scale) -> Tiling:
    """The fewest sheets, all lying alike.

    How they lie doesn't depend on `scale`: a printer's error belongs to the paper's directions, so a corrected
    template must lie as the one that was measured.
    """
    bounds = seen_box(face, flat.bounds_mm)
    lie = min(Lie, key=lambda way: math.prod(_counts(bounds, Layout.of(paper, way), (1.0, 1.0))))
    layout = Layout.of(paper, lie)
    columns, rows = _counts(bounds, layout, scale)
    reach = _reach(layout, scale)
    xs = _starts(bounds[0], bounds[2], reach[0], columns)
    ys = _starts(bounds[1], bounds[3], reach[1], rows)[::-1]
    places = [(r, c, (x, y, x + reach[0], y + reach[1])) for r, y in enumerate(ys, 1) for c, x in enumerate(xs, 1)]
    needed = [place for place in places if _has_metal(flat, face, place[2])]
    return Tiling(face, layout, scale, tuple(Tile(i, *place) for i, place in enumerate(needed, 1)))


def _reach(layout: Layout, scale: Scale) -> tuple[float, float]:
    """How much of the flat one sheet shows, mm."""
    x0, y0, x1, y1 = layout.window
    return ((x1 - x0) * scale[0], (y1 - y0) * scale[1])


def _counts(bounds: Box, layout: Layout, scale: Scale) -> tuple[int, int]:
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


def _has_metal(flat: Flat, face: Face, box: Box) -> bool:
    """Whether a sheet would show anything of the part."""
    chain = [seen_from(face, p) for p in ring_points(flat.outline, 0.1)]
    middle = Point((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
    return bool(clipped([*chain, chain[0]], box)) or holds(flat.outline, seen_from(face, middle))


@dataclass(frozen=True, slots=True)
class Seam:
    """Where two neighbouring sheets meet: the middle of what both show, and its crosses by name."""

    tiles: tuple[Tile, Tile]
    line: tuple[Point, Point]
    crosses: tuple[tuple[str, Point], ...]

    @property
    def both(self) -> Box:
        """What of the seen flat both sheets show."""
        (a, b) = (t.shows for t in self.tiles)
        return (max(a[0], b[0]), max(a[1], b[1]), min(a[2], b[2]), min(a[3], b[3]))

    def other(self, tile: Tile) -> Tile:
        """The neighbour across the seam."""
        return self.tiles[1] if tile.number == self.tiles[0].number else self.tiles[0]


_NOWHERE: Final = (Point(0.0, 0.0), Point(0.0, 0.0))


def seams(flat: Flat, tiling_: Tiling) -> list[Seam]:
    """Every seam between two sheets, in the plane of the seen face; crosses are named 1a, 1b, 2a ..."""
    found: list[tuple[Tile, Tile]] = []
    for tile in tiling_.tiles:
        neighbours = (tiling_.at(tile.row, tile.column + 1), tiling_.at(tile.row + 1, tile.column))
        found += [(tile, other) for other in neighbours if other is not None]
    busy = [seen_box(tiling_.face, h.cut.bounds()) for h in flat.holes]
    return [_seam(i, *pair, busy) for i, pair in enumerate(found, 1)]


def _seam(number: int, a: Tile, b: Tile, busy: Sequence[Box]) -> Seam:
    x0, y0, x1, y1 = Seam((a, b), _NOWHERE, ()).both
    if a.row == b.row:
        ends = (Point((x0 + x1) / 2, y0), Point((x0 + x1) / 2, y1))
    else:
        ends = (Point(x0, (y0 + y1) / 2), Point(x1, (y0 + y1) / 2))
    along = ends[1].minus(ends[0])
    places = [[ends[0].plus(along, abs(end - share)) for share in _CROSS_SHARES] for end in (0.0, 1.0)]
    crosses = tuple((f"{number}{name}", _clear(tries, busy)) for name, tries in zip("ab", places, strict=True))
    return Seam((a, b), ends, crosses)


def _clear(tries: Sequence[Point], busy: Sequence[Box]) -> Point:
    """The first place where a cross keeps away from every hole, so that nobody takes it for the hole's centre."""
    for p in tries:
        if not any(meet((*p, *p), box, _CROSS_AIR_MM) for box in busy):
            return p
    return tries[0]
