"""Straight views of the folded part to scale, with its outside sizes over the faces."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from bracketgen.bending.fold import Folded
from bracketgen.drawing.marks import dimensions
from bracketgen.drawing.marks.lettering import Weight, text_width_mm
from bracketgen.drawing.marks.paper_map import arrow_head
from bracketgen.drawing.picture.folded_view import folded_view
from bracketgen.drawing.sheet import INK, Align, Fill, Label, Mark, Stroke
from bracketgen.drawing.solid.line_view import LineView, line_view
from bracketgen.drawing.solid.skin import skin_of
from bracketgen.drawing.solid.viewpoint import ABOVE, FRONT, RIGHT, Viewpoint
from bracketgen.drawing.workshop.page import CENTRE, HIDDEN, VISIBLE, scale_words, standard_scale
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point
from bracketgen.geometry.space import dot

#: Chords of curves stray at most this much on the paper.
_CHORD_MM: Final = 0.01
_LEFT_MM: Final = dimensions.REACH_MM + 2.0
_ABOVE_MM: Final = 8.0
_BELOW_MM: Final = dimensions.REACH_MM + 1.5
#: Between two views, with the arrow of the side view.
_GAP_MM: Final = 16.0
_TITLE_MM: Final = 3.3
_BEYOND_MM: Final = 1.5
_FACE: Final = "SEEN ON THE DESCRIBED FACE"
#: What the shaded picture needs beside the views.
_PICTURE_MM: Final = 60.0


@dataclass(frozen=True, slots=True)
class FoldedDrawing:
    """The marks, the scale, and the outside sizes in x, y and z of the first panel, mm."""

    marks: tuple[Mark, ...]
    scale: float
    sizes_mm: tuple[float, float, float]

    @property
    def scale_words(self) -> str:
        """Such as '1:2'."""
        return scale_words(self.scale)


def folded_drawing(folded: Folded, box: Box) -> FoldedDrawing:
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
    start = left + max(x, _least_width(sizes)) + _GAP_MM
    right = (start, low, start + y, low + z)
    marks: list[Mark] = []
    for view, eye, place, title in zip(
        views, (ABOVE, FRONT, RIGHT), (top, front, right), (_FACE, "A", "B"), strict=True
    ):
        marks += _drawn(view, place, scale)
        marks += _centres(folded, eye, view, place, scale)
        marks.append(Label(title, Point(place[0], place[3] + 3.0), _TITLE_MM, INK, Weight.BOLD, shows="view"))
    area = (box[0], box[1], box[2], box[3])
    marks += dimensions.width_marks(sizes[0], top, area)
    marks += dimensions.height_marks(sizes[1], top)
    marks += dimensions.height_marks(sizes[2], front)
    marks += [*_arrow("B", Point(top[2] + 2.0, (top[1] + top[3]) / 2), Point(-1.0, 0.0))]
    words_end = (top[0] + top[2] + dimensions.text_width(sizes[0])) / 2
    marks += [*_arrow("A", Point(max(top[2], words_end) + 4.0, top[1] - 2.0), Point(0.0, 1.0))]
    title_end = top[0] + text_width_mm(_FACE, _TITLE_MM, Weight.BOLD)
    picture = (max(start, top[2] + _GAP_MM, title_end + 5.0), front[3] + _ABOVE_MM + 4.0, box[2], box[3])
    beside = (max(right[2], front[2]) + 8.0, box[1], box[2], box[3])
    shaded = folded_view(folded, max((picture, beside), key=_room))
    # The page's own head says already what it is.
    marks += [m for m in shaded if m.shows != "folded view"]
    return FoldedDrawing(tuple(marks), scale, sizes)


def _room(box: Box) -> float:
    """The smaller side of a box."""
    return min(box[2] - box[0], box[3] - box[1])


def _least_width(sizes: tuple[float, float, float]) -> float:
    """Room for the width's words below a narrow view."""
    return dimensions.text_width(sizes[0]) / 2 + 8.0


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


def _drawn(view: LineView, place: Box, scale: float) -> list[Mark]:
    def at(p: Point) -> Point:
        return Point(place[0] + (p.x - view.bounds_mm[0]) * scale, place[1] + (p.y - view.bounds_mm[1]) * scale)

    hidden = [HIDDEN.line(tuple(map(at, c)), "hidden edge") for c in view.hidden]
    return [*hidden, *(VISIBLE.line(tuple(map(at, c)), "visible edge") for c in view.visible)]


def _centres(folded: Folded, eye: Viewpoint, view: LineView, place: Box, scale: float) -> list[Mark]:
    """Crosses through round holes that are seen square on."""
    marks: list[Mark] = []
    for panel in folded.part.panels:
        if abs(dot(folded.normal(panel.id), eye.toward)) < 1.0 - 1e-9:
            continue
        for hole in panel.holes:
            if hole.shape.bore_mm is not None:
                p = eye.flat(folded.point(panel.id, hole.centre))
                x = place[0] + (p.x - view.bounds_mm[0]) * scale
                y = place[1] + (p.y - view.bounds_mm[1]) * scale
                r = hole.shape.bore_mm / 2 * scale + _BEYOND_MM
                marks.append(CENTRE.line((Point(x - r, y), Point(x + r, y)), "centre"))
                marks.append(CENTRE.line((Point(x, y - r), Point(x, y + r)), "centre"))
    return marks


def _arrow(letter: str, tip: Point, way: Point) -> list[Mark]:
    """From where a view is taken, with its letter behind the arrow."""
    back = tip.plus(way, -7.0)
    at = back.plus(way, -2.4).plus(Point(0.0, -1.2))
    return [
        Stroke((back, tip), 0.35, shows=f"view arrow {letter}"),
        Fill((arrow_head(tip, way, 3.0),), INK, f"view arrow {letter}"),
        Label(letter, at, _TITLE_MM, INK, Weight.BOLD, Align.CENTRE, shows=f"view arrow {letter}"),
    ]
