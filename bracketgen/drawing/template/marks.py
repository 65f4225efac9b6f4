"""The lines of a template: bars that show the printer's scale, the part, the flag that tells its faces, the seams."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Final

from bracketgen.bending.flat import Flat, FlatHole
from bracketgen.drawing.marks.paper_map import within
from bracketgen.drawing.marks.words import numbered_strips
from bracketgen.drawing.sheet import (
    FAINT,
    HAIR,
    INK,
    WAY_DASH,
    WAY_LINE,
    Align,
    Colour,
    Fill,
    Label,
    Mark,
    Stroke,
    TextDirection,
    border,
)
from bracketgen.drawing.template.card import BEND_LINE_MM, CardFold
from bracketgen.drawing.template.tiling import (
    MARGIN_MM,
    STRIP_MM,
    PageAreas,
    PlaneMap,
    Scale,
    Seam,
    Tile,
    clipped,
    meet,
    seen_from,
)
from bracketgen.geometry.contour import ChainSet, box_contour
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point
from bracketgen.standards.deviations import reading_error
from bracketgen.units import INCH_MM

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

_CUT_MM: Final = 0.3
_THIN_MM: Final = 0.15
#: How far a cross-hair reaches beyond its hole, and its half length where a slot's round end has its centre, mm.
_BEYOND_MM: Final = 3.0
_END_MM: Final = 2.0
_CARD_DASH: Final = (0.6, 1.2)
_MARK_DASH: Final = (1.2, 0.8)

Chain = tuple[tuple[Point, ...], float, Colour, tuple[float, ...], str]


def shape_marks(flat: Flat, folds: Sequence[CardFold], to_paper: PlaneMap, window: Box) -> list[Stroke]:
    """Every line of the part that one sheet shows, cut off at the edge of its window."""
    chains = [*_bends(flat, folds, to_paper), *_scribed(flat, to_paper)]
    chains.append((to_paper.ring(flat.outline), _CUT_MM, INK, (), "outline"))
    chains += [(to_paper.ring(opening), _CUT_MM, INK, (), "opening") for opening in flat.openings]
    for hole in flat.holes:
        # Most holes of a long part lie on other sheets.
        if meet(to_paper.box(hole.cut.bounds()), window, 2 * _BEYOND_MM):
            chains += [*_hole(hole, to_paper), *_cross_hairs(hole, to_paper)]
    return [
        Stroke(piece, width, colour, dash, shows)
        for points, width, colour, dash, shows in chains
        for piece in clipped(points, window)
    ]


def _hole(hole: FlatHole, to_paper: PlaneMap) -> Iterator[Chain]:
    """The finished edge; a pilot is dashed inside."""
    yield to_paper.ring(hole.cut), _CUT_MM, INK, (), f"hole {hole.hole.id}"
    if hole.hole.pilot is not None:
        yield to_paper.ring(hole.in_file), _THIN_MM, INK, _MARK_DASH, f"pilot of {hole.hole.id}"


def _cross_hairs(hole: FlatHole, to_paper: PlaneMap) -> Iterator[Chain]:
    """Level and upright lines through the centre, small ones through the ends, and what is worked along."""
    shows = f"centre of {hole.hole.id}"
    x0, y0, x1, y1 = hole.cut.bounds()
    (x, y), dx, dy = hole.centre, (x1 - x0) / 2 + _BEYOND_MM, (y1 - y0) / 2 + _BEYOND_MM
    yield _pair(to_paper, Point(x - dx, y), Point(x + dx, y)), _THIN_MM, INK, (), shows
    yield _pair(to_paper, Point(x, y - dy), Point(x, y + dy)), _THIN_MM, INK, (), shows
    own = hole.hole
    for edge in own.shape.scribed:
        yield to_paper.edge(edge.moved(hole.placement)), _THIN_MM, INK, _MARK_DASH, f"middle of {own.id}"
    for end in hole.ends if len(hole.ends) > 1 else ():
        for arm in (Point(_END_MM, 0.0), Point(0.0, _END_MM)):
            points = _pair(to_paper, end.plus(arm, -1.0), end.plus(arm))
            yield points, _THIN_MM, INK, (), f"end of {own.id}"


def _pair(to_paper: PlaneMap, a: Point, b: Point) -> tuple[Point, Point]:
    return to_paper.point(a), to_paper.point(b)


def _bends(flat: Flat, folds: Sequence[CardFold], to_paper: PlaneMap) -> Iterator[Chain]:
    """Tangent lines thin, centre line dashed by its way, and where card folds when that is another line."""
    for number, strip in numbered_strips(flat):
        colour, dash = WAY_LINE[strip.bend.way], WAY_DASH[strip.bend.way]
        for across in (0.0, strip.metal.allowance_mm):
            yield to_paper.line(strip.line_at(across)), _THIN_MM, colour, (), f"tangent of bend {number}"
        yield to_paper.line(strip.centre_line), BEND_LINE_MM, colour, dash, f"bend {number}"
    for fold in folds:
        if fold.has_own_line:
            yield to_paper.line(fold.line), BEND_LINE_MM, INK, _CARD_DASH, f"card fold {fold.number}"


def _scribed(flat: Flat, to_paper: PlaneMap) -> Iterator[Chain]:
    """Mark lines of all panels."""
    for panel in flat.part.panels:
        for line in panel.marks:
            points = to_paper.line(line.moved(flat.placements[panel.id]))
            yield points, _THIN_MM, FAINT, _MARK_DASH, "mark line"


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

    def fits(self, to_paper: PlaneMap, window: Box) -> bool:
        """Whether a sheet shows it whole."""
        return all(within(to_paper.point(p), window) for p in self.points)

    def mark(self, to_paper: PlaneMap) -> Fill:
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
    tile: Tile, seams: Sequence[Seam], to_paper: PlaneMap, window: Box, drawn: Sequence[Stroke]
) -> list[Mark]:
    """The window's edge, and every seam of this sheet, its words off the lines that are drawn."""
    marks: list[Mark] = [border(window, _SEAM_LINE_MM, HAIR, "window")]
    for seam in seams:
        if tile in seam.tiles:
            marks += _seam(tile, seam, to_paper, drawn)
    return marks


def _seam(tile: Tile, seam: Seam, to_paper: PlaneMap, drawn: Sequence[Stroke]) -> list[Mark]:
    # Seams are given as the reader sees the face; the map asks for points of the flat.
    ends = tuple(to_paper.point(seen_from(to_paper.face, p)) for p in seam.line)
    other = seam.other(tile)
    marks: list[Mark] = [Stroke(ends, _SEAM_LINE_MM, FAINT, _DASH, f"seam to sheet {other.number}")]
    for name, at in seam.crosses:
        marks += _cross(name, to_paper.point(seen_from(to_paper.face, at)))
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


def _cross(name: str, at: Point) -> list[Mark]:
    shows = f"cross {name}"
    arms = (Point(_ARM_MM, 0.0), Point(0.0, _ARM_MM))
    lines = [Stroke((at.plus(arm, -1.0), at.plus(arm)), _SEAM_LINE_MM, INK, shows=shows) for arm in arms]
    return [*lines, Label(name, at.plus(Point(0.9, 0.9)), _NAME_MM, INK, shows=shows)]


def _words(text: str, middle: Point, outward: Point) -> Label:
    """Along the seam, on the side that is cut away."""
    if outward.x == 0.0:
        foot = _OFF_MM if outward.y > 0.0 else -_OFF_MM - 0.75 * _SEAM_TEXT_MM
        at, reading = middle.plus(Point(0.0, foot)), TextDirection.LEVEL
    else:
        foot = _OFF_MM + 0.75 * _SEAM_TEXT_MM if outward.x > 0.0 else -_OFF_MM
        at, reading = middle.plus(Point(foot, 0.0)), TextDirection.UPRIGHT
    return Label(text, at, _SEAM_TEXT_MM, FAINT, align=Align.CENTRE, reading=reading, shows="seam")
