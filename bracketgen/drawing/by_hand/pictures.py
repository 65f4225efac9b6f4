"""Small pictures of a step of the work: the flat with what the step is about drawn strong."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from enum import Enum
from typing import Final

from bracketgen.bending.flat import Flat
from bracketgen.drawing.marks.bend_words import numbered_strips
from bracketgen.drawing.paper.palette import DESCRIBED_FACE, FAINT, HAIR, INK, WAY_LINE, WAY_TINT
from bracketgen.drawing.paper.trace import PaperMap, arrow_head, closed, disc_points, fitted_map
from bracketgen.drawing.sheet import Fill, Mark, Stroke
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point, midpoint

_MOST_SCALE: Final = 2.0
#: Room around the flat for the arrow of a bend, which is a little longer.
_AIR_MM: Final = 4.0
_ARROW_MM: Final = 4.5


class Show(Enum):
    """What a picture is about."""

    LINES = "scribed lines"
    HOLES = "holes"
    OUTLINE = "the outline"
    BEND = "one bend"


@dataclass(frozen=True, slots=True)
class Picture:
    """What is shown; `holes` are the ids drawn strong, `bend` the number of a bend."""

    show: Show
    holes: Collection[str] = ()
    bend: int = 0


def picture_marks(flat: Flat, picture: Picture, box: Box) -> list[Mark]:
    """The picture inside `box`; not to scale."""
    inner = (box[0] + _AIR_MM, box[1] + _AIR_MM, box[2] - _AIR_MM, box[3] - _AIR_MM)
    level, turned = (fitted_map(flat.bounds_mm, inner, _MOST_SCALE, turn) for turn in (0.0, 90.0))
    to_paper = turned if turned.scale > 1.5 * level.scale else level
    outer = to_paper.ring(flat.outline)
    rings = [(h.hole.id, to_paper.ring(h.cut)) for h in flat.holes]
    strong = picture.show is Show.OUTLINE
    marks: list[Mark] = [Fill((outer,), DESCRIBED_FACE, "metal")]
    marks += _bends(flat, picture, to_paper)
    for name, ring in rings:
        if picture.show is Show.HOLES and name in picture.holes:
            marks += [Fill((ring,), INK, f"drilled {name}"), Stroke(closed(ring), 0.3)]
        else:
            marks.append(Stroke(closed(ring), 0.2, FAINT))
    marks.append(Stroke(closed(outer), 0.8 if strong else 0.25, INK if strong else FAINT))
    return [*marks, *(_lines(flat, to_paper) if picture.show is Show.LINES else ())]


def _bends(flat: Flat, picture: Picture, to_paper: PaperMap) -> list[Mark]:
    marks: list[Mark] = []
    for number, strip in numbered_strips(flat):
        way = strip.bend.way
        ends = (to_paper.point(strip.centre_line.start), to_paper.point(strip.centre_line.end))
        if picture.show is Show.BEND and number == picture.bend:
            marks.append(Fill((to_paper.ring(strip.outline()),), WAY_TINT[way], f"bend {number}"))
            marks.append(Stroke(ends, 0.7, WAY_LINE[way], shows=f"bend {number}"))
            middle, across = midpoint(*ends), ends[1].minus(ends[0]).unit().left()
            tip = middle.plus(across, _ARROW_MM)
            marks += [Stroke((middle, tip), 0.5, WAY_LINE[way]), Fill((arrow_head(tip, across, 2.2),), WAY_LINE[way])]
        else:
            marks.append(Stroke(ends, 0.2, HAIR if picture.show is not Show.LINES else INK))
    return marks


def _lines(flat: Flat, to_paper: PaperMap) -> list[Mark]:
    """Scribed lines from both datum edges through every hole's centre, and a dot at each punch."""
    x0, y0, x1, y1 = flat.bounds_mm
    marks: list[Mark] = []
    for hole in flat.holes:
        c = hole.centre
        for a, b in ((Point(x0, c.y), c), (Point(c.x, y0), c)):
            marks.append(Stroke((to_paper.point(a), to_paper.point(b)), 0.18, INK))
        marks.append(Fill((disc_points(to_paper.point(c), 0.6),), INK, "punch"))
    for a, b in ((Point(x0, y0), Point(x1, y0)), (Point(x0, y0), Point(x0, y1))):
        marks.append(Stroke((to_paper.point(a), to_paper.point(b)), 0.7, INK, shows="datum edge"))
    return marks
