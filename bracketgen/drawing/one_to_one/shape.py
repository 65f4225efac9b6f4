"""The lines of the part on one sheet of the template."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from bracketgen.bending.flat import Flat, FlatHole
from bracketgen.drawing.marks.bend_words import numbered_strips
from bracketgen.drawing.one_to_one.card import CardFold
from bracketgen.drawing.one_to_one.clipping import clipped, meet
from bracketgen.drawing.one_to_one.plane_map import PlaneMap
from bracketgen.drawing.paper.palette import FAINT, INK, WAY_DASH, WAY_LINE, Colour
from bracketgen.drawing.sheet import Stroke
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point

_CUT_MM: Final = 0.3
_THIN_MM: Final = 0.15
_BEND_MM: Final = 0.3
#: How far a cross-hair reaches beyond its hole, and its half length where a slot's round end has its centre, mm.
_BEYOND_MM: Final = 3.0
_END_MM: Final = 2.0
_CARD_DASH: Final = (0.6, 1.2)
_MARK_DASH: Final = (1.2, 0.8)

Chain = tuple[tuple[Point, ...], float, Colour, tuple[float, ...], str]


def shape_marks(flat: Flat, folds: Sequence[CardFold], to_paper: PlaneMap, window: Box) -> list[Stroke]:
    """Every line of the part that one sheet shows, cut off at the edge of its window."""
    chains = [*_bends(flat, folds, to_paper), *_scribed(flat, to_paper), *_edges(flat, to_paper)]
    for hole in flat.holes:
        # Most holes of a long part lie on other sheets.
        if meet(to_paper.box(hole.cut.bounds()), window, 2 * _BEYOND_MM):
            chains += [*_hole(hole, to_paper), *_cross_hairs(hole, to_paper)]
    return [
        Stroke(piece, width, colour, dash, shows)
        for points, width, colour, dash, shows in chains
        for piece in clipped(points, window)
    ]


def _edges(flat: Flat, to_paper: PlaneMap) -> Iterator[Chain]:
    """Outline and openings."""
    yield to_paper.ring(flat.outline), _CUT_MM, INK, (), "outline"
    for opening in flat.openings:
        yield to_paper.ring(opening), _CUT_MM, INK, (), "opening"


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
        yield to_paper.line(strip.centre_line), _BEND_MM, colour, dash, f"bend {number}"
    for fold in folds:
        if shows_own_line(fold):
            yield to_paper.line(fold.line), _BEND_MM, INK, _CARD_DASH, f"card fold {fold.number}"


def shows_own_line(fold: CardFold) -> bool:
    """Whether card folds visibly beside the centre line: by a line's width."""
    return abs(fold.shift_mm) >= _BEND_MM


def _scribed(flat: Flat, to_paper: PlaneMap) -> Iterator[Chain]:
    """Mark lines of all panels."""
    for panel in flat.part.panels:
        for line in panel.marks:
            points = to_paper.line(line.moved(flat.placements[panel.id]))
            yield points, _THIN_MM, FAINT, _MARK_DASH, "mark line"
