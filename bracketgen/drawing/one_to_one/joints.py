"""What shows how sheets are joined: cut lines, crosses with names, the number of the neighbour."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from bracketgen.drawing.one_to_one.clipping import clipped
from bracketgen.drawing.one_to_one.plane_map import PlaneMap, seen_from
from bracketgen.drawing.one_to_one.tiles import Seam, Tile
from bracketgen.drawing.paper.palette import FAINT, HAIR, INK
from bracketgen.drawing.sheet import Align, Label, Mark, Reading, Stroke
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point

_ARM_MM: Final = 4.0
_HAIR_MM: Final = 0.15
_NAME_MM: Final = 3.0
_TEXT_MM: Final = 2.6
_DASH: Final = (3.0, 2.0)
#: From the seam to the foot of its words.
_OFF_MM: Final = 1.6
#: Where along the seam its words may stand, as shares of its length, the best first.
_SHARES: Final = tuple(sorted((0.14 + 0.01 * i for i in range(73)), key=lambda s: (abs(s - 0.5), s)))


def joint_marks(
    tile: Tile, seams: Sequence[Seam], to_paper: PlaneMap, window: Box, drawn: Sequence[Stroke]
) -> list[Mark]:
    """The window's edge, and every seam of this sheet, its words off the lines that are drawn."""
    x0, y0, x1, y1 = window
    corners = (Point(x0, y0), Point(x1, y0), Point(x1, y1), Point(x0, y1), Point(x0, y0))
    marks: list[Mark] = [Stroke(corners, _HAIR_MM, HAIR, shows="window")]
    for seam in seams:
        if tile in seam.tiles:
            marks += _seam(tile, seam, to_paper, drawn)
    return marks


def _seam(tile: Tile, seam: Seam, to_paper: PlaneMap, drawn: Sequence[Stroke]) -> list[Mark]:
    ends = tuple(_placed(to_paper, p) for p in seam.line)
    other = seam.other(tile)
    marks: list[Mark] = [Stroke(ends, _HAIR_MM, FAINT, _DASH, f"seam to sheet {other.number}")]
    for name, at in seam.crosses:
        marks += _cross(name, _placed(to_paper, at))
    outward = _outward(tile, other)
    texts = (f"cut here, or lay on sheet {other.number}", f"cut, or lay on {other.number}")
    places = [ends[0].plus(ends[1].minus(ends[0]), share) for share in _SHARES]
    tried = [_words(text, place, outward) for text in texts for place in places]
    taken = [*drawn, *(m for m in marks[1:] if isinstance(m, Stroke))]
    free = (w for w in tried if not any(clipped(s.points, w.box) for s in taken))
    return [*marks, next(free, tried[0])]


def _placed(to_paper: PlaneMap, seen: Point) -> Point:
    """Seams are given as the reader sees the face; the map asks for points of the flat."""
    return to_paper.point(seen_from(to_paper.face, seen))


def _outward(tile: Tile, other: Tile) -> Point:
    """From a sheet toward its neighbour."""
    if tile.row == other.row:
        return Point(1.0 if other.column > tile.column else -1.0, 0.0)
    return Point(0.0, 1.0 if other.row < tile.row else -1.0)


def _cross(name: str, at: Point) -> list[Mark]:
    shows = f"cross {name}"
    arms = (Point(_ARM_MM, 0.0), Point(0.0, _ARM_MM))
    lines = [Stroke((at.plus(arm, -1.0), at.plus(arm)), _HAIR_MM, INK, shows=shows) for arm in arms]
    return [*lines, Label(name, at.plus(Point(0.9, 0.9)), _NAME_MM, INK, shows=shows)]


def _words(text: str, middle: Point, outward: Point) -> Label:
    """Along the seam, on the side that is cut away."""
    if outward.x == 0.0:
        foot = _OFF_MM if outward.y > 0.0 else -_OFF_MM - 0.75 * _TEXT_MM
        at, reading = middle.plus(Point(0.0, foot)), Reading.LEVEL
    else:
        foot = _OFF_MM + 0.75 * _TEXT_MM if outward.x > 0.0 else -_OFF_MM
        at, reading = middle.plus(Point(foot, 0.0)), Reading.UPRIGHT
    return Label(text, at, _TEXT_MM, FAINT, align=Align.CENTRE, reading=reading, shows="seam")
