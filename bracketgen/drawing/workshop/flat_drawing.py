"""The flat to scale, with datum edges, hole names, bend lines, overall sizes, scale bar and rolling direction."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from bracketgen.bending.flat import Flat
from bracketgen.drawing.marks import dimensions
from bracketgen.drawing.marks.callouts import (
    UNSTRUCK_COST,
    Callout,
    Leader,
    Target,
    bend_callouts,
    overall_sizes,
    place_callout,
    take_marks,
    weld_callouts,
)
from bracketgen.drawing.marks.dimensions import axis_arrows, scale_bar
from bracketgen.drawing.marks.flat_shape import ink_shape
from bracketgen.drawing.marks.free_room import FreeRoom
from bracketgen.drawing.marks.lettering import Weight
from bracketgen.drawing.marks.paper_map import PaperMap, arrow_head, closed, disc_points
from bracketgen.drawing.marks.words import numbered_strips
from bracketgen.drawing.sheet import FAINT, INK, Fill, Label, Mark, Stroke
from bracketgen.drawing.workshop.page import BENDING, CENTRE, NARROW, VISIBLE, scale_words, standard_scale
from bracketgen.drawing.workshop.tables import NamedHole, datum_of, named_holes
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Placement, Point, polar

#: Chords of curves stray at most this much on the paper.
_CHORD_MM: Final = 0.003
_STRIP_MM: Final = 13.0
_RING_MM: Final = 10.0
_LETTER_MM: Final = 2.9
#: Letters of a name among holes that lie close together.
_SMALLER_MM: Final = (2.2,)
_TEXT_MM: Final = 3.1
#: Where along a bend's line its label is tried.
_ALONG: Final = (0.5, 0.3, 0.7, 0.15, 0.85)
_AXIS_MM: Final = 3.2
#: The letter of an axis would lie on the size of a view that is so large on the paper; a shorter arrow does not.
_AXIS_ON_SIZE_MM: Final = (5.0, 9.5)
_SHORT_AXIS: Final = 0.5
_DOT_MM: Final = 0.55
_NUMBER_MM: Final = 2.3
#: A number farther than this from its corner, or on a line, says nothing; the table has its place.
_NUMBER_REACH_MM: Final = 7.0
#: A centre cross reaches this far beyond the hole's edge.
_BEYOND_MM: Final = 1.5


@dataclass(frozen=True, slots=True)
class FlatDrawing:
    """The marks, the map that was used, and what found no room on the view."""

    marks: tuple[Mark, ...]
    to_paper: PaperMap
    left_out: tuple[str, ...]

    @property
    def scale_words(self) -> str:
        """Such as '1:2'."""
        return scale_words(self.to_paper.scale)


def flat_drawing(flat: Flat, box: Box, corners: Sequence[Point] = ()) -> FlatDrawing:
    """The flat inside `box` at the largest standard scale, turned a quarter where that makes it larger.

    `corners` get a dot and, where it finds room, their number, from 1.
    """
    area = (box[0], box[1] + _STRIP_MM, box[2], box[3])
    to_paper = _map(flat, area)
    room = FreeRoom(area)
    ink_shape(room, flat, to_paper)
    shape = _shape(flat, to_paper)
    for mark in shape:
        if isinstance(mark, Stroke) and mark.shows == "centre":
            room.ink_line(mark.points)
    sizes = [*overall_sizes(flat, to_paper, area), *_datum(flat, to_paper)]
    take_marks(room, sizes)
    dots = [Fill((disc_points(to_paper.point(p), _DOT_MM),), INK, "corner") for p in corners]
    placed, left_out = _names(flat, named_holes(flat), room, to_paper)
    placed += _numbers([to_paper.point(p) for p in corners], room)
    bar = scale_bar(to_paper.scale, Point(box[0] + 2.0, box[1] + 6.5))
    grain = _grain(flat, to_paper, Point(box[0] + 84.0, box[1] + 7.0))
    return FlatDrawing((*shape, *dots, *sizes, *placed, *bar, *grain), to_paper, tuple(left_out))


def _map(flat: Flat, area: Box) -> PaperMap:
    """Level or turned a quarter, in the middle of what sizes and labels leave free."""
    x0, y0, x1, y1 = flat.bounds_mm
    found = [_map_turned((x1 - x0, y1 - y0), flat, area, turn) for turn in (0.0, 90.0)]
    return found[1] if found[1].scale > found[0].scale else found[0]


def _map_turned(size: tuple[float, float], flat: Flat, area: Box, turn_deg: float) -> PaperMap:
    wide, high = size if turn_deg == 0.0 else size[::-1]
    left = dimensions.reach_left(high, 0.0) + 1.0
    reach = dimensions.REACH_MM + 1.0
    tries = [left, reach]
    for left_mm in tries[::-1]:
        free = (area[0] + left_mm, area[1] + reach, area[2] - _RING_MM, area[3] - _RING_MM)
        scale = standard_scale(wide, high, (free[2] - free[0], free[3] - free[1]))
        if dimensions.reach_left(high, high * scale) + 1.0 <= left_mm:
            break
    x0, y0, x1, y1 = flat.bounds_mm
    turned = Placement.turned(turn_deg)
    middle = turned.point(Point((x0 + x1) / 2 * scale, (y0 + y1) / 2 * scale))
    centre = Point((free[0] + free[2]) / 2, (free[1] + free[3]) / 2)
    return PaperMap(scale, Placement(centre.minus(middle), turned.cos, turned.sin))


def _datum(flat: Flat, to_paper: PaperMap) -> list[Mark]:
    """Narrow lines along the two datum edges, with the directions of x and y from their corner."""
    x0, y0, x1, y1 = flat.bounds_mm
    corner = to_paper.point(datum_of(flat))
    ends = (to_paper.point(Point(x1, y0)), to_paper.point(Point(x0, y1)))
    ways = [to_paper.direction(d) for d in (Point(1.0, 0.0), Point(0.0, 1.0))]
    lines = [NARROW.line((corner.plus(w, -2.0), e), "datum edge") for w, e in zip(ways, ends, strict=True)]
    start = corner.plus(ways[0].plus(ways[1]), -_AXIS_MM)
    lengths = (corner.distance(e) for e in ends)
    short = [
        w.scaled(_SHORT_AXIS) if _AXIS_ON_SIZE_MM[0] < n < _AXIS_ON_SIZE_MM[1] else w
        for w, n in zip(ways, lengths, strict=True)
    ]
    return [*lines, *axis_arrows((("x", short[0]), ("y", short[1])), start)]


def _shape(flat: Flat, to_paper: PaperMap) -> list[Mark]:
    """Outline and holes, centre crosses, bend lines with their tangent lines, marks."""
    marks: list[Mark] = []
    for number, strip in numbered_strips(flat):
        for across in (0.0, strip.metal.allowance_mm):
            line = strip.line_at(across)
            ends = (to_paper.point(line.start), to_paper.point(line.end))
            marks.append(NARROW.line(ends, f"tangent {number}", FAINT))
        ends = (to_paper.point(strip.centre_line.start), to_paper.point(strip.centre_line.end))
        marks.append(BENDING.line(ends, f"bend {number}"))
    for panel in flat.part.panels:
        for mark in panel.marks:
            line = mark.moved(flat.placements[panel.id])
            marks.append(NARROW.line((to_paper.point(line.start), to_paper.point(line.end)), "mark line"))
    for hole in flat.holes:
        marks.append(VISIBLE.line(closed(to_paper.ring(hole.cut, _CHORD_MM)), f"hole {hole.hole.id}"))
        marks += _cross(to_paper.point(hole.stated_at), to_paper.box(hole.cut.bounds()))
        for edge in hole.hole.shape.scribed:
            marks.append(CENTRE.line(to_paper.edge(edge.moved(hole.placement), _CHORD_MM), "centre"))
    marks += [VISIBLE.line(closed(to_paper.ring(c, _CHORD_MM)), "opening") for c in flat.openings]
    return [*marks, VISIBLE.line(closed(to_paper.ring(flat.outline, _CHORD_MM)), "outline")]


def _cross(at: Point, box: Box) -> list[Mark]:
    level = (Point(box[0] - _BEYOND_MM, at.y), Point(box[2] + _BEYOND_MM, at.y))
    upright = (Point(at.x, box[1] - _BEYOND_MM), Point(at.x, box[3] + _BEYOND_MM))
    return [CENTRE.line(level, "centre"), CENTRE.line(upright, "centre")]


def _names(flat: Flat, holes: Sequence[NamedHole], room: FreeRoom, to_paper: PaperMap) -> tuple[list[Mark], list[str]]:
    """Names of holes and bends where they find room, and those that find none."""
    marks: list[Mark] = []
    left_out: list[str] = []
    welds = weld_callouts(flat, to_paper, _TEXT_MM)
    bends = [
        replace(c, shows=f"label of {c.shows}", colour=INK, most_cost=UNSTRUCK_COST)
        for c in bend_callouts(flat, to_paper, _TEXT_MM, _ALONG)
    ]
    for callout in [*(_hole_callout(h, to_paper) for h in holes), *bends, *welds]:
        found = place_callout(room, callout)
        if found is None:
            left_out.append(callout.text)
        else:
            marks += found
    return marks, left_out


def _numbers(corners: Sequence[Point], room: FreeRoom) -> list[Mark]:
    """The numbers of corners beside their dots, as many as find room."""
    marks: list[Mark] = []
    for number, corner in enumerate(corners, 1):
        target = Target(corner, _DOT_MM)
        callout = Callout(str(number), (target,), _NUMBER_MM, f"corner {number}", leader=Leader.WHEN_APART,
                          away_mm=_DOT_MM, weight=Weight.PLAIN, most_cost=_NUMBER_REACH_MM)  # fmt: skip
        marks += place_callout(room, callout) or []
    return marks


def _hole_callout(named: NamedHole, to_paper: PaperMap) -> Callout:
    x0, y0, x1, y1 = to_paper.box(named.hole.cut.bounds())
    radius = min(x1 - x0, y1 - y0) / 2
    edge = () if named.hole.hole.shape.bore_mm is not None else to_paper.ring(named.hole.cut)
    target = Target(to_paper.point(named.hole.stated_at), radius, edge)
    shows = f"name of {named.hole.hole.id}"
    return Callout(named.name, (target,), _LETTER_MM, shows, leader=Leader.WHEN_APART, away_mm=radius + _BEYOND_MM,
                   smaller_mm=_SMALLER_MM, most_cost=UNSTRUCK_COST)  # fmt: skip


def _grain(flat: Flat, to_paper: PaperMap, centre: Point) -> list[Mark]:
    """A double arrow along the rolling direction, or the words that it is free or not known."""
    grain = flat.part.stock.grain_deg
    if grain is None:
        return [Label("rolling direction not stated", centre.plus(Point(-9.0, -1.1)), _TEXT_MM, INK, shows="grain")]
    d = to_paper.direction(polar(1.0, math.radians(grain)))
    a, b = centre.plus(d, -6.0), centre.plus(d, 6.0)
    heads = (arrow_head(b, d, 3.0), arrow_head(a, d.scaled(-1.0), 3.0))
    words = Label("rolling direction (grain)", centre.plus(Point(8.5, -1.1)), _TEXT_MM, INK, shows="grain")
    return [Stroke((a, b), 0.6, shows="grain"), *(Fill((h,), INK, "grain") for h in heads), words]
