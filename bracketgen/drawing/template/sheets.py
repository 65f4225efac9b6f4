"""The sheets of a template: how a flat is spread over several, and every line on them: bars, part, flag, seams."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import Final

from bracketgen.bending.flat import Flat
from bracketgen.drawing.marks.flat_lines import FaceUp, FlatLines, PaperMap, ring_points
from bracketgen.drawing.sheet import (
    FAINT,
    HAIR,
    INK,
    Align,
    Fill,
    Label,
    LineType,
    Mark,
    Paper,
    Stroke,
    TextDirection,
    border,
    box_of,
    centre_of,
    clipped,
    closed,
    cross,
    within,
)
from bracketgen.drawing.template.card import BEND_LINE_MM, CardFold
from bracketgen.geometry.contour import ChainSet, box_contour, holds
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point
from bracketgen.standards.deviations import reading_error
from bracketgen.units import INCH_MM

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
class Tile:
    """One sheet: its number from 1, its place from the upper left, and the box of the flat that it shows."""

    number: int
    row: int
    column: int
    shows: Box


@dataclass(frozen=True, slots=True)
class Template:
    """What a template is of, for which printer, and its sheets; those without a trace of metal are left out.

    `notice` is a warning that stands on every sheet.
    """

    flat: Flat
    face: FaceUp
    paper: Paper
    scale: Scale
    layout: PageAreas
    tiles: tuple[Tile, ...]
    notice: str = ""

    def map_of(self, tile: Tile) -> PaperMap:
        """From the flat to a sheet, stretched so that the printer's error is undone."""
        per_mm = (1.0 / self.scale[0], 1.0 / self.scale[1])
        return PaperMap.putting(lower_left(self.face, tile.shows), Point(*self.layout.window[:2]), per_mm, self.face)

    def at(self, row: int, column: int) -> Tile | None:
        """The sheet at a place; None where none is needed."""
        return next((t for t in self.tiles if (t.row, t.column) == (row, column)), None)


def tiling(flat: Flat, face: FaceUp, paper: Paper, scale: Scale, notice: str = "") -> Template:
    """The fewest sheets, all lying alike.

    How they lie doesn't depend on `scale`: a printer's error belongs to the paper's directions, so a corrected
    template must lie as the one that was measured.
    """
    bounds = _seen(face, flat.bounds_mm)
    lying = [PageAreas(*size) for size in (paper.upright, paper.level)]
    layout = min(lying, key=lambda way: math.prod(_counts(bounds, way, TRUE)))
    columns, rows = _counts(bounds, layout, scale)
    reach = _reach(layout, scale)
    xs = _starts(bounds[0], bounds[2], reach[0], columns)
    ys = _starts(bounds[1], bounds[3], reach[1], rows)[::-1]
    places = [
        (r, c, _seen(face, (x, y, x + reach[0], y + reach[1])))
        for r, y in enumerate(ys, 1)
        for c, x in enumerate(xs, 1)
    ]
    edge = closed(ring_points(flat.outline, 0.1))
    # Those that would show anything of the part.
    needed = [place for place in places if clipped(edge, place[2]) or holds(flat.outline, centre_of(place[2]))]
    tiles = tuple(Tile(i, *place) for i, place in enumerate(needed, 1))
    return Template(flat, face, paper, scale, layout, tiles, notice)


def _seen(face: FaceUp, box: Box) -> Box:
    """A box of the flat as it lies before a reader of this face, and back: turned over about the y axis."""
    return box if face is FaceUp.DESCRIBED else (-box[2], box[1], -box[0], box[3])


def lower_left(face: FaceUp, box: Box) -> Point:
    """The corner of a box of the flat that lies at the lower left before a reader of this face."""
    return Point(box[0] if face is FaceUp.DESCRIBED else box[2], box[1])


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


@dataclass(frozen=True, slots=True)
class Seam:
    """Where two neighbouring sheets meet: what of the flat both show, its middle, and its crosses by name."""

    tiles: tuple[Tile, Tile]
    both: Box
    line: tuple[Point, Point]
    crosses: tuple[tuple[str, Point], ...]

    def other(self, tile: Tile) -> Tile:
        """The neighbour across the seam."""
        return self.tiles[1] if tile.number == self.tiles[0].number else self.tiles[0]


def seams(template: Template) -> list[Seam]:
    """Every seam between two sheets; crosses are named 1a, 1b, 2a ..."""
    found: list[tuple[Tile, Tile]] = []
    for tile in template.tiles:
        neighbours = (template.at(tile.row, tile.column + 1), template.at(tile.row + 1, tile.column))
        found += [(tile, other) for other in neighbours if other is not None]
    busy = [h.cut.bounds() for h in template.flat.holes]
    return [_seam_between(i, *pair, template.face, busy) for i, pair in enumerate(found, 1)]


def _seam_between(number: int, a: Tile, b: Tile, face: FaceUp, busy: Sequence[Box]) -> Seam:
    (ax0, ay0, ax1, ay1), (bx0, by0, bx1, by1) = a.shows, b.shows
    both = x0, y0, x1, y1 = max(ax0, bx0), max(ay0, by0), min(ax1, bx1), min(ay1, by1)
    middle = centre_of(both)
    upright, level = (Point(middle.x, y0), Point(middle.x, y1)), (Point(x0, middle.y), Point(x1, middle.y))
    ends = upright if a.row == b.row else level if face is FaceUp.DESCRIBED else level[::-1]
    along = ends[1].minus(ends[0])
    places = [[ends[0].plus(along, abs(end - share)) for share in _CROSS_SHARES] for end in (0.0, 1.0)]
    crosses = []
    for name, tries in zip("ab", places, strict=True):
        # Away from every hole, so that nobody takes a cross for a hole's centre.
        clear = (p for p in tries if not any(meet((*p, *p), box, _CROSS_AIR_MM) for box in busy))
        crosses.append((f"{number}{name}", next(clear, tries[0])))
    return Seam((a, b), both, ends, tuple(crosses))


# -- the bars that show the printer's scale


#: How far a chord may stray from its arc, mm: a third of the 0.01 mm that a template promises.
CHORD_MM: Final = 0.003
#: What the bars are, in mm of the printed sheet.
BAR_MM: Final = 100.0
BAR_INCH_MM: Final = 4 * INCH_MM
_LENGTHS: Final = (("100 mm", BAR_MM), ("4 in", BAR_INCH_MM))
_THICK_MM: Final = 0.9
_TICK_MM: Final = 1.9
_TICK_LINE_MM: Final = 0.12
_BAR_TEXT_MM: Final = 2.8
#: From the strip's outer edge to the axis of each bar.
_AXES_MM: Final = (7.4, 2.4)


def bars(layout: PageAreas, scale: Scale) -> list[Mark]:
    """Both bars across and up the sheet: from tick to tick they are true when the printer prints `scale`."""
    marks: list[Mark] = []
    low = MARGIN_MM + STRIP_MM
    for (name, true_mm), off in zip(_LENGTHS, _AXES_MM, strict=True):
        start = Point(low, MARGIN_MM + off)
        marks += _bar(name, "across", start, Point(1.0, 0.0), true_mm / scale[0])
        start = Point(MARGIN_MM + off, low)
        marks += _bar(name, "up", start, Point(0.0, 1.0), true_mm / scale[1])
    return marks


def _bar(name: str, way: str, start: Point, along: Point, length: float) -> list[Mark]:
    shows = f"bar {name} {way}"
    end, side = start.plus(along, length), along.left()
    corners = (start, end, end.plus(side, _THICK_MM), start.plus(side, _THICK_MM))
    ticks = [
        Stroke((p.plus(side, -_TICK_MM), p.plus(side, _TICK_MM)), _TICK_LINE_MM, INK, shows=shows) for p in (start, end)
    ]
    reading = TextDirection.LEVEL if way == "across" else TextDirection.UPRIGHT
    # Up the sheet the letters' feet stand on the right, so the base line lies on the other side of the axis.
    at = end.plus(along, 2.5).plus(Point(0.0, -0.9) if reading is TextDirection.LEVEL else Point(0.9, 0.0))
    said = f"{name} {way}, measured: .............."
    return [Fill((corners,), INK, shows), *ticks, Label(said, at, _BAR_TEXT_MM, INK, reading=reading, shows=shows)]


# -- what the bars of a printed sheet say about the printer

#: Beyond these the bar was misread, or the wrong paper was chosen: fitting Letter into A4 or A4 into Letter, with
#: their margins, prints 0.9 to 1.1 (common practice, no source).
LEAST_SCALE: Final = 0.85
MOST_SCALE: Final = 1.15


def good_within() -> float:
    """How far a bar may be off and still pass for true, as a share: what a ruler's reading of it may be off.

    One standard deviation of a reading of 100 mm with a ruler. Source: the reading_errors table.
    """
    return reading_error("ruler", BAR_MM).sigma / BAR_MM


def is_true(scale: Scale) -> bool:
    """Whether both directions came out as true as a ruler can tell."""
    return all(abs(s - 1.0) <= good_within() for s in scale)


def is_possible(scale: float) -> bool:
    """Whether a printer may have done that."""
    return LEAST_SCALE <= scale <= MOST_SCALE


# -- the part's lines on one sheet

_THIN: Final = LineType(0.15)
_DASHED: Final = LineType(0.15, (1.2, 0.8))
_LINES: Final = FlatLines(
    outline=LineType(0.3),
    hole=LineType(0.3),
    tangent=_THIN,
    bend=LineType(BEND_LINE_MM),
    mark=replace(_DASHED, colour=FAINT),
    pilot=_DASHED,
    centre=_THIN,
    scribed=_DASHED,
    beyond_mm=3.0,
    end_mm=2.0,
    chord_mm=CHORD_MM,
)
_CARD: Final = LineType(BEND_LINE_MM, (0.6, 1.2))


def shape_marks(flat: Flat, folds: Sequence[CardFold], to_paper: PaperMap, window: Box) -> list[Stroke]:
    """Every line of the part that one sheet shows, cut off at the edge of its window."""
    lines = [_CARD.line(to_paper.edge(f.line), f"card fold {f.number}") for f in folds if f.has_own_line]
    lines += _LINES.drawn(flat, to_paper)
    # Most holes of a long part lie on other sheets.
    near = [line for line in lines if meet(box_of(line.points), window)]
    return [replace(line, points=piece) for line in near for piece in clipped(line.points, window)]


# -- the mark by which everybody sees which face is up: a flag with a square corner, on the metal itself

#: Length of the flag's foot and the air between it and any edge, mm, from the best to the least; it stands two thirds
#: as high as it is long.
_SIZES_MM: Final = ((9.0, 3.5), (7.0, 3.5), (6.0, 2.0), (4.0, 1.0), (2.5, 0.5))
_SHARE: Final = 2.0 / 3.0
#: How many places are tried along each side of the flat.
_TRIES: Final = 40


@dataclass(frozen=True, slots=True)
class Flag:
    """A triangle in the flat: its square corner at the lower left when the described face is up."""

    corner: Point
    foot_mm: float

    @property
    def points(self) -> tuple[Point, Point, Point]:
        """Square corner, end of the foot, top."""
        return (
            self.corner,
            self.corner.plus(Point(self.foot_mm, 0.0)),
            self.corner.plus(Point(0.0, self.foot_mm * _SHARE)),
        )

    def fits(self, to_paper: PaperMap, window: Box) -> bool:
        """Whether a sheet shows it whole."""
        return all(within(to_paper.point(p), window) for p in self.points)

    def mark(self, to_paper: PaperMap) -> Fill:
        """The filled triangle on the paper; mirrored with everything else when the back is up."""
        return Fill((tuple(map(to_paper.point, self.points)),), INK, "flag")


def flag_of(flat: Flat, seams: Sequence[Box]) -> Flag | None:
    """The largest flag that lies on metal, clear of edges, holes, bends and seams, near the first panel; None for none.

    `seams` are the boxes of the flat that two sheets show.
    """
    x0, y0, x1, y1 = flat.bounds_mm
    chains = [flat.outline, *(s.outline() for s in flat.strips), *flat.openings, *(box_contour(*s) for s in seams)]
    chains += [h.cut.contour() for h in flat.holes]
    inside = ChainSet(chains)
    first = flat.part.panels[0]
    fx0, fy0, fx1, fy1 = first.outline.moved(flat.placements[first.id]).bounds()
    middle = Point((fx0 + fx1) / 2, (fy0 + fy1) / 2)
    steps = (((x1 - x0) * i / _TRIES + x0, (y1 - y0) * j / _TRIES + y0) for i, j in product(range(_TRIES), repeat=2))
    corners = sorted((Point(*p) for p in steps), key=lambda p: (round(p.distance(middle), 6), p))
    for foot, air in _SIZES_MM:
        # Most places fall out by their four corners; the whole box is looked at for the others only.
        likely = [c for c, fits in zip(corners, _on_metal(inside, corners, foot, air, 2), strict=True) if fits]
        for corner in likely:
            if _on_metal(inside, [corner], foot, air, 1 + int(foot + 2 * air))[0]:
                return Flag(corner, foot)
    return None


def _on_metal(inside: ChainSet, corners: Sequence[Point], foot: float, air: float, count: int) -> list[bool]:
    """Whether `count` by `count` points over each flag's box and its air lie in the first chain and in no other."""
    wide, high = foot + 2 * air, foot * _SHARE + 2 * air
    shares = [i / (count - 1) for i in range(count)]
    lows = [corner.plus(Point(-air, -air)) for corner in corners]
    points = [low.plus(Point(wide * x, high * y)) for low in lows for y in shares for x in shares]
    held = inside.hold(points).reshape(len(corners), count * count, -1)
    return [bool(own[:, 0].all() and not own[:, 1:].any()) for own in held]


# -- how sheets are joined: cut lines, crosses with names, the number of the neighbour

_ARM_MM: Final = 4.0
_SEAM_LINE_MM: Final = 0.15
_NAME_MM: Final = 3.0
_SEAM_TEXT_MM: Final = 2.6
_DASH: Final = (3.0, 2.0)
#: From the seam to the foot of its words.
_OFF_MM: Final = 1.6
#: Where along the seam its words may stand, as shares of its length, the best first.
_SHARES: Final = tuple(sorted((0.14 + 0.01 * i for i in range(73)), key=lambda s: (abs(s - 0.5), s)))


def joint_marks(
    tile: Tile, seams: Sequence[Seam], to_paper: PaperMap, window: Box, drawn: Sequence[Stroke]
) -> list[Mark]:
    """The window's edge, and every seam of this sheet, its words off the lines that are drawn."""
    marks: list[Mark] = [border(window, _SEAM_LINE_MM, HAIR, "window")]
    for seam in seams:
        if tile in seam.tiles:
            marks += _seam(tile, seam, to_paper, drawn)
    return marks


def _seam(tile: Tile, seam: Seam, to_paper: PaperMap, drawn: Sequence[Stroke]) -> list[Mark]:
    ends = to_paper.line(seam.line)
    other = seam.other(tile)
    marks: list[Mark] = [Stroke(ends, _SEAM_LINE_MM, FAINT, _DASH, f"seam to sheet {other.number}")]
    for name, at in seam.crosses:
        place, shows = to_paper.point(at), f"cross {name}"
        marks += [Stroke(arm, _SEAM_LINE_MM, INK, shows=shows) for arm in cross(place, (*place, *place), _ARM_MM)]
        marks.append(Label(name, place.plus(Point(0.9, 0.9)), _NAME_MM, INK, shows=shows))
    if tile.row == other.row:
        outward = Point(1.0 if other.column > tile.column else -1.0, 0.0)
    else:
        outward = Point(0.0, 1.0 if other.row < tile.row else -1.0)
    texts = (f"cut here, or lay on sheet {other.number}", f"cut, or lay on {other.number}")
    places = [ends[0].plus(ends[1].minus(ends[0]), share) for share in _SHARES]
    tried = [_words(text, place, outward) for text in texts for place in places]
    taken = [*drawn, *(m for m in marks[1:] if isinstance(m, Stroke))]
    free = (w for w in tried if not any(clipped(s.points, w.box) for s in taken))
    return [*marks, next(free, tried[0])]


def _words(text: str, middle: Point, outward: Point) -> Label:
    """Along the seam, on the side that is cut away."""
    if outward.x == 0.0:
        foot = _OFF_MM if outward.y > 0.0 else -_OFF_MM - 0.75 * _SEAM_TEXT_MM
        at, reading = middle.plus(Point(0.0, foot)), TextDirection.LEVEL
    else:
        foot = _OFF_MM + 0.75 * _SEAM_TEXT_MM if outward.x > 0.0 else -_OFF_MM
        at, reading = middle.plus(Point(foot, 0.0)), TextDirection.UPRIGHT
    return Label(text, at, _SEAM_TEXT_MM, FAINT, align=Align.CENTRE, reading=reading, shows="seam")
