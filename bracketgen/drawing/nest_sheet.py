"""Nested sheets as one cut file each, and as pictures."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from bracketgen.drawing.cut_sheet import Chain, CutSheet, Round, items_of
from bracketgen.drawing.marks.callouts import place_inside
from bracketgen.drawing.marks.flat_lines import PaperMap
from bracketgen.drawing.marks.free_room import FreeRoom
from bracketgen.drawing.marks.lettering import Weight, text_width_mm
from bracketgen.drawing.sheet import (
    HAIR,
    HEIGHT_MM,
    INK,
    WIDTH_MM,
    Fill,
    Label,
    Mark,
    Sheet,
    Stroke,
    border,
    box_of,
    closed,
)
from bracketgen.geometry.contour import Contour, Cut
from bracketgen.geometry.plane import Point
from bracketgen.part.mark import stamp
from bracketgen.shop.nest import FilledSheet, PlacedPart

_EDGE_MM: Final = 12.0
_HEAD_MM: Final = 12.0
_HEAD_TEXT_MM: Final = 4.5
_NAME_MM: Final = 3.0
_LEAST_NAME_MM: Final = 1.2
_CHORD_MM: Final = 0.02

#: Every cut of a part by its name, the outline first.
Cuts = Mapping[str, tuple[Contour, tuple[Cut, ...]]]


def nested_sheet(filled: FilledSheet, cuts: Cuts, name: str, mark: str = "") -> CutSheet:
    """All parts of one sheet of that mark; its lower left corner is the origin, its own edge is not in it."""
    rounds: list[Round] = []
    chains: list[Chain] = []
    for one in filled.lying:
        outline, inner = cuts[one.piece.name]
        own = items_of(cut.moved(one.placement) for cut in (outline, *inner))
        rounds += own[0]
        chains += own[1]
    return CutSheet(name, tuple(rounds), tuple(chains), stamp(mark))


def nest_picture(filled: FilledSheet, cuts: Cuts, title: str) -> Sheet:
    """The sheet with its parts and their names, on one page."""
    plate = filled.plate
    scale = min((WIDTH_MM - 2 * _EDGE_MM) / plate.length_mm, (HEIGHT_MM - 2 * _EDGE_MM - _HEAD_MM) / plate.width_mm)
    to_paper = PaperMap.putting(Point(0.0, 0.0), Point(_EDGE_MM, _EDGE_MM), (scale, scale))
    marks: list[Mark] = [border(to_paper.box((0.0, 0.0, plate.length_mm, plate.width_mm)), 0.5)]
    for one in filled.lying:
        marks += _part(one, cuts, to_paper)
    at = Point(_EDGE_MM, HEIGHT_MM - _EDGE_MM)
    # Smaller, where the title would not go across the page.
    share = (WIDTH_MM - 2 * _EDGE_MM) / max(text_width_mm(title, _HEAD_TEXT_MM), 1.0)
    marks.append(Label(title, at, min(_HEAD_TEXT_MM, _HEAD_TEXT_MM * share)))
    return Sheet(WIDTH_MM, HEIGHT_MM, tuple(marks))


def _part(one: PlacedPart, cuts: Cuts, to_paper: PaperMap) -> Iterator[Mark]:
    outline, inner = cuts[one.piece.name]
    rings = tuple(to_paper.ring(c.moved(one.placement), _CHORD_MM * to_paper.scale) for c in (outline, *inner))
    yield Fill(rings, HAIR, one.piece.name)
    for ring in rings:
        yield Stroke(closed(ring), 0.2, INK)
    yield from _name(one.piece.name, rings)


def _name(name: str, rings: Sequence[tuple[Point, ...]]) -> Iterator[Mark]:
    """A part's name as near to its middle as its holes leave room; smaller, down to none, where it is too narrow."""
    box = box_of(rings[0])
    size = _NAME_MM * min(1.0, 0.9 * (box[2] - box[0]) / max(text_width_mm(name, _NAME_MM), 0.1))
    if size < _LEAST_NAME_MM:
        return
    room = FreeRoom(box)
    for ring in rings:
        room.ink_line(closed(ring))
    for ring in rings[1:]:
        room.ink(box_of(ring))
    yield place_inside(room, name, box, size, Weight.PLAIN, "name")
