"""The flat itself: metal, edges, bend strips, marks."""

from __future__ import annotations

from typing import Final

from bracketgen.bending.flat import Flat, Strip
from bracketgen.drawing.marks.free_room import FreeRoom
from bracketgen.drawing.marks.paper_map import PaperMap, closed
from bracketgen.drawing.marks.words import numbered_strips
from bracketgen.drawing.sheet import DESCRIBED_FACE, FAINT, INK, WAY_DASH, WAY_LINE, WAY_TINT, Fill, Mark, Stroke
from bracketgen.geometry.edge import Line
from bracketgen.geometry.plane import Point

_OUTLINE_MM: Final = 0.75
_HOLE_MM: Final = 0.5
_THIN_MM: Final = 0.22
_CENTRE_MM: Final = 0.5


def flat_shape(flat: Flat, to_paper: PaperMap) -> list[Mark]:
    """The metal filled light with a bold edge, strips tinted, in the order of drawing."""
    outer = to_paper.ring(flat.outline)
    openings = [to_paper.ring(c) for c in flat.openings]
    holes = [(h.hole.id, to_paper.ring(h.cut)) for h in flat.holes]
    marks: list[Mark] = [Fill((outer, *openings, *(r for _, r in holes)), DESCRIBED_FACE, "metal")]
    for number, strip in numbered_strips(flat):
        marks += _strip(number, strip, to_paper)
    marks += _scribed(flat, to_paper)
    marks += [Stroke(closed(r), _HOLE_MM, INK, shows=f"hole {name}") for name, r in holes]
    marks += _pilots(flat, to_paper)
    marks += [Stroke(closed(r), _HOLE_MM, INK) for r in openings]
    return [*marks, Stroke(closed(outer), _OUTLINE_MM, INK, shows="outline")]


def ink_shape(room: FreeRoom, flat: Flat, to_paper: PaperMap) -> None:
    """Tell the free room where the shape's lines and holes lie."""
    for ring in (to_paper.ring(flat.outline), *(to_paper.ring(c) for c in flat.openings)):
        room.ink_line(closed(ring))
    for flat_hole in flat.holes:
        room.ink_line(closed(to_paper.ring(flat_hole.cut)))
        room.ink(to_paper.box(flat_hole.cut.bounds()))
    for strip in flat.strips:
        for across in (0.0, 0.5, 1.0):
            room.ink_line(_ends(strip.line_at(across * strip.metal.allowance_mm), to_paper))


def _strip(number: int, strip: Strip, to_paper: PaperMap) -> list[Mark]:
    way, shows = strip.bend.way, f"bend {number}"
    tangents = (strip.line_at(0.0), strip.line_at(strip.metal.allowance_mm))
    return [
        Fill((to_paper.ring(strip.outline()),), WAY_TINT[way], shows),
        *(Stroke(_ends(t, to_paper), _THIN_MM, WAY_LINE[way], shows=shows) for t in tangents),
        Stroke(_ends(strip.centre_line, to_paper), _CENTRE_MM, WAY_LINE[way], WAY_DASH[way], shows),
    ]


def _scribed(flat: Flat, to_paper: PaperMap) -> list[Mark]:
    """Mark lines of all panels."""
    lines = ((m, flat.placements[p.id]) for p in flat.part.panels for m in p.marks)
    return [
        Stroke(_ends(line.moved(placement), to_paper), 0.35, FAINT, (1.2, 0.8), "mark line")
        for line, placement in lines
    ]


def _pilots(flat: Flat, to_paper: PaperMap) -> list[Mark]:
    """The small round that is cut, inside the finished hole."""
    return [
        Stroke(closed(to_paper.ring(h.in_file)), _THIN_MM, INK, (0.8, 0.6), f"hole {h.hole.id}")
        for h in flat.holes
        if h.hole.pilot is not None
    ]


def _ends(line: Line, to_paper: PaperMap) -> tuple[Point, Point]:
    return (to_paper.point(line.start), to_paper.point(line.end))
