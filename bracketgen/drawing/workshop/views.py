"""Views to a standard scale: the flat from its datum edges, and straight views of the folded part."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from bracketgen.bending.flat import Flat
from bracketgen.bending.fold import Folded
from bracketgen.drawing.marks import dimensions
from bracketgen.drawing.marks.callouts import (
    UNSTRUCK_COST,
    Callout,
    Leader,
    Target,
    bend_callouts,
    place_callout,
    take_marks,
    weld_callouts,
)
from bracketgen.drawing.marks.dimensions import axis_arrows, grain_marks, overall_sizes, scale_bar, sized_map
from bracketgen.drawing.marks.flat_lines import FlatLines, PaperMap, centred_map, ink_flat
from bracketgen.drawing.marks.free_room import FreeRoom
from bracketgen.drawing.marks.lettering import Weight, text_width_mm
from bracketgen.drawing.picture.folded_view import folded_view
from bracketgen.drawing.sheet import FAINT, INK, Align, Fill, Label, Mark, arrow, cross, disc_points
from bracketgen.drawing.solid.line_view import line_view
from bracketgen.drawing.solid.skin import skin_of
from bracketgen.drawing.solid.visible import ABOVE, FRONT, RIGHT, Viewpoint
from bracketgen.drawing.workshop.page import BENDING, CENTRE, HIDDEN, NARROW, VISIBLE, scale_words, standard_scale
from bracketgen.drawing.workshop.tables import NamedHole, datum_of, named_holes
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point
from bracketgen.geometry.space import dot

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
_LINES: Final = FlatLines(
    outline=VISIBLE,
    hole=VISIBLE,
    tangent=replace(NARROW, colour=FAINT),
    bend=BENDING,
    mark=NARROW,
    centre=CENTRE,
    scribed=CENTRE,
    by_way=False,
    beyond_mm=_BEYOND_MM,
    chord_mm=0.003,
)


@dataclass(frozen=True, slots=True)
class ScaledView:
    """Marks, the scale in words ('1:2'), what found no room, and of a folded part its sizes in x, y and z, mm."""

    marks: tuple[Mark, ...]
    scale: str
    left_out: tuple[str, ...] = ()
    sizes_mm: tuple[float, ...] = ()


def flat_drawing(flat: Flat, box: Box, corners: Sequence[Point] = ()) -> ScaledView:
    """The flat inside `box` at the largest standard scale, turned a quarter where that makes it larger.

    `corners` get a dot and, where it finds room, their number, from 1.
    """
    area = (box[0], box[1] + _STRIP_MM, box[2], box[3])
    to_paper = sized_map(flat, area, _RING_MM, standard_scale, 1.0)
    room = FreeRoom(area)
    lines = _LINES.drawn(flat, to_paper)
    ink_flat(room, flat, to_paper, lines)
    sizes = [*overall_sizes(flat, to_paper, area), *_datum(flat, to_paper)]
    take_marks(room, sizes)
    dots = [Fill((disc_points(to_paper.point(p), _DOT_MM),), INK, "corner") for p in corners]
    placed, left_out = _names(flat, named_holes(flat), room, to_paper)
    placed += _numbers([to_paper.point(p) for p in corners], room)
    bar = scale_bar(to_paper.scale, Point(box[0] + 2.0, box[1] + 6.5))
    grain = grain_marks(flat, to_paper, Point(box[0] + 84.0, box[1] + 7.0), _TEXT_MM, " (grain)")
    marks = (*lines, *dots, *sizes, *placed, *bar, *grain)
    return ScaledView(marks, scale_words(to_paper.scale), tuple(left_out))


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


# -- the folded part, with its outside sizes over the faces


#: Chords of curves stray at most this much on the paper.
_CHORD_MM: Final = 0.01
_LEFT_MM: Final = dimensions.REACH_MM + 2.0
_ABOVE_MM: Final = 8.0
_BELOW_MM: Final = dimensions.REACH_MM + 1.5
#: Between two views, with the arrow of the side view.
_GAP_MM: Final = 16.0
_TITLE_MM: Final = 3.3

_FACE: Final = "SEEN ON THE DESCRIBED FACE"
#: What the shaded picture needs beside the views.
_PICTURE_MM: Final = 60.0


def folded_drawing(folded: Folded, box: Box) -> ScaledView:
    """Seen on the described face of the first panel, below that view A, on its right view B, and a shaded picture."""
    skin = skin_of(folded)
    sizes = skin.size_mm
    scale = _scale(sizes, box)
    views = [line_view(skin, v, _CHORD_MM / scale) for v in (ABOVE, FRONT, RIGHT)]
    x, y, z = (s * scale for s in sizes)
    left = box[0] + _LEFT_MM + _side_words(sizes, scale)
    top = (left, box[3] - _ABOVE_MM - y, left + x, box[3] - _ABOVE_MM)
    low = top[1] - _BELOW_MM - _ABOVE_MM - z
    front = (left, low, left + x, low + z)
    # Below a narrow view its width's words need more room.
    start = left + max(x, dimensions.text_width(sizes[0]) / 2 + 8.0) + _GAP_MM
    right = (start, low, start + y, low + z)
    marks: list[Mark] = []
    for view, eye, place, title in zip(
        views, (ABOVE, FRONT, RIGHT), (top, front, right), (_FACE, "A", "B"), strict=True
    ):
        to_paper = centred_map(view.bounds_mm, place, scale)
        marks += [HIDDEN.line(to_paper.line(c), "hidden edge") for c in view.hidden]
        marks += [VISIBLE.line(to_paper.line(c), "visible edge") for c in view.visible]
        marks += _centres(folded, eye, to_paper)
        marks.append(Label(title, Point(place[0], place[3] + 3.0), _TITLE_MM, INK, Weight.BOLD, shows="view"))
    marks += dimensions.width_marks(sizes[0], top, box)
    marks += dimensions.height_marks(sizes[1], top)
    marks += dimensions.height_marks(sizes[2], front)
    marks += _arrow("B", Point(top[2] + 2.0, (top[1] + top[3]) / 2), Point(-1.0, 0.0))
    words_end = (top[0] + top[2] + dimensions.text_width(sizes[0])) / 2
    marks += _arrow("A", Point(max(top[2], words_end) + 4.0, top[1] - 2.0), Point(0.0, 1.0))
    title_end = top[0] + text_width_mm(_FACE, _TITLE_MM, Weight.BOLD)
    picture = (max(start, top[2] + _GAP_MM, title_end + 5.0), front[3] + _ABOVE_MM + 4.0, box[2], box[3])
    beside = (max(right[2], front[2]) + 8.0, box[1], box[2], box[3])
    shaded = folded_view(folded, max((picture, beside), key=lambda b: min(b[2] - b[0], b[3] - b[1])))
    # The page's own head says already what it is.
    marks += [m for m in shaded if m.shows != "folded view"]
    return ScaledView(tuple(marks), scale_words(scale), sizes_mm=sizes)


def _side_words(sizes: tuple[float, float, float], scale: float) -> float:
    """More paper on the left where a height's words do not fit along it."""
    return max(dimensions.reach_left(s, s * scale) for s in sizes[1:]) - dimensions.REACH_MM


def _scale(sizes: tuple[float, float, float], box: Box) -> float:
    x, y, z = sizes
    wide, high = box[2] - box[0], box[3] - box[1]
    found = 0.0
    for side in (0.0, dimensions.reach_left(0.0, -1.0)):
        room = (wide - _LEFT_MM - side - _GAP_MM, high - 2 * _ABOVE_MM - _BELOW_MM - 2.0)
        found = standard_scale(x + y, y + z, room)
        # The picture finds its place right of the upper view, or right of everything.
        while (room[0] - x * found < _PICTURE_MM) and found > 0.005:
            found = standard_scale(x + y, y + z, ((x + y) * found * 0.99, room[1]))
        if _side_words(sizes, found) <= side:
            break
    return found


def _centres(folded: Folded, eye: Viewpoint, to_paper: PaperMap) -> list[Mark]:
    """Crosses through round holes that are seen square on."""
    marks: list[Mark] = []
    for panel in folded.part.panels:
        if abs(dot(folded.normal(panel.id), eye.toward)) < 1.0 - 1e-9:
            continue
        for hole in panel.holes:
            if hole.shape.bore_mm is not None:
                p = to_paper.point(eye.flat(folded.point(panel.id, hole.centre)))
                reach = hole.shape.bore_mm / 2 * to_paper.scale + _BEYOND_MM
                marks += [CENTRE.line(arm, "centre") for arm in cross(p, (*p, *p), reach)]
    return marks


def _arrow(letter: str, tip: Point, way: Point) -> list[Mark]:
    """From where a view is taken, with its letter behind the arrow."""
    back = tip.plus(way, -7.0)
    at = back.plus(way, -2.4).plus(Point(0.0, -1.2))
    shows = f"view arrow {letter}"
    label = Label(letter, at, _TITLE_MM, INK, Weight.BOLD, Align.CENTRE, shows=shows)
    return [*arrow(back, tip, 0.35, 3.0, shows=shows), label]
