"""Nested sheets as one cut file each, and as pictures."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from bracketgen.drawing.marks.free_room import FreeRoom, Near
from bracketgen.drawing.marks.lettering import ASCENT, DESCENT, Weight, text_width_mm
from bracketgen.drawing.paper_size import HEIGHT_MM, WIDTH_MM
from bracketgen.drawing.sheet import FAINT, HAIR, INK, Fill, Label, Mark, Sheet, Stroke, border, level_label
from bracketgen.drawing.to_cut.cut_sheet import Chain, CutSheet, Round, items_of
from bracketgen.geometry.contour import Contour, Cut
from bracketgen.geometry.plane import Placement, Point
from bracketgen.geometry.scratch import ChordSide, scratch_points
from bracketgen.shop.nest import FilledSheet, PlacedPart

_EDGE_MM: Final = 12.0
_HEAD_MM: Final = 12.0
_HEAD_TEXT_MM: Final = 4.5
_NAME_MM: Final = 3.0
_LEAST_NAME_MM: Final = 1.2
_CHORD_MM: Final = 0.02

#: Every cut of a part by its name, the outline first.
Cuts = Mapping[str, tuple[Contour, tuple[Cut, ...]]]


def nested_sheet(filled: FilledSheet, cuts: Cuts, name: str) -> CutSheet:
    """All parts of one sheet; its lower left corner is the origin, the sheet's own edge is not in it."""
    rounds: list[Round] = []
    chains: list[Chain] = []
    for one in filled.lying:
        outline, inner = cuts[one.piece.name]
        own = items_of(cut.moved(one.placement) for cut in (outline, *inner))
        rounds += own[0]
        chains += own[1]
    return CutSheet(name, tuple(rounds), tuple(chains))


def nest_picture(filled: FilledSheet, cuts: Cuts, title: str) -> Sheet:
    """The sheet with its parts and their names, on one page."""
    plate = filled.plate
    scale = min((WIDTH_MM - 2 * _EDGE_MM) / plate.length_mm, (HEIGHT_MM - 2 * _EDGE_MM - _HEAD_MM) / plate.width_mm)
    corner = _on_paper(Point(plate.length_mm, plate.width_mm), scale)
    marks: list[Mark] = [border((_EDGE_MM, _EDGE_MM, *corner), 0.5)]
    for one in filled.lying:
        marks += _part(one, cuts, scale)
    at = Point(_EDGE_MM, HEIGHT_MM - _EDGE_MM)
    # Smaller, where the title would not go across the page.
    share = (WIDTH_MM - 2 * _EDGE_MM) / max(text_width_mm(title, _HEAD_TEXT_MM), 1.0)
    marks.append(Label(title, at, min(_HEAD_TEXT_MM, _HEAD_TEXT_MM * share)))
    return Sheet(WIDTH_MM, HEIGHT_MM, tuple(marks))


def _part(one: PlacedPart, cuts: Cuts, scale: float) -> Iterator[Mark]:
    outline, inner = cuts[one.piece.name]
    rings = tuple(_ring(c, one.placement, scale) for c in (outline, *inner))
    yield Fill(rings, HAIR, one.piece.name)
    for ring in rings:
        yield Stroke((*ring, ring[0]), 0.2, INK)
    yield from _name(one.piece.name, rings)


def _name(name: str, rings: Sequence[tuple[Point, ...]]) -> Iterator[Mark]:
    """A part's name as near to its middle as its holes leave room; smaller, down to none, where it is too narrow."""
    xs, ys = [p.x for p in rings[0]], [p.y for p in rings[0]]
    box = (min(xs), min(ys), max(xs), max(ys))
    size = _NAME_MM * min(1.0, 0.9 * (box[2] - box[0]) / max(text_width_mm(name, _NAME_MM), 0.1))
    if size < _LEAST_NAME_MM:
        return
    wide, high = text_width_mm(name, size), (ASCENT + DESCENT) * size
    room = FreeRoom(box)
    for ring in rings:
        room.ink_line((*ring, ring[0]))
    for ring in rings[1:]:
        room.ink((min(p.x for p in ring), min(p.y for p in ring), max(p.x for p in ring), max(p.y for p in ring)))
    middle = Point((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
    # Near its left end counts, so that a free name stands in the middle.
    spots = room.spots(wide, high, [Near(middle.plus(Point(-wide / 2, 0.0)))])
    where = spots[0].box if spots else (middle.x - wide / 2, middle.y - high / 2, middle.x, middle.y)
    yield level_label(name, where, size, FAINT, Weight.PLAIN, "name")


def _ring(cut: Cut, placement: Placement, scale: float) -> tuple[Point, ...]:
    points = scratch_points(
        cut.contour().anticlockwise().moved(placement), chord_error_mm=_CHORD_MM, side=ChordSide.INSIDE
    )
    return tuple(_on_paper(p, scale) for p in points)


def _on_paper(p: Point, scale: float) -> Point:
    return Point(_EDGE_MM + p.x * scale, _EDGE_MM + p.y * scale)
