"""Nested sheets as one cut file each, and as pictures."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

from bracketgen.drawing.blank import chain_of
from bracketgen.drawing.cut_sheet import Chain, CutSheet, Round
from bracketgen.drawing.paper.lettering import text_width_mm
from bracketgen.drawing.paper.palette import FAINT, HAIR, INK
from bracketgen.drawing.sheet import Align, Fill, Label, Mark, Sheet, Stroke
from bracketgen.geometry.contour import Circle, Contour, Cut
from bracketgen.geometry.placement import Placement
from bracketgen.geometry.point import Point
from bracketgen.geometry.scratch import Side, scratch_points
from bracketgen.shop.nesting.piece import Filled, Lying

#: A4 landscape, ISO 216.
_WIDTH_MM: Final = 297.0
_HEIGHT_MM: Final = 210.0
_EDGE_MM: Final = 12.0
_HEAD_MM: Final = 12.0
_HEAD_TEXT_MM: Final = 4.5
_NAME_MM: Final = 3.0
_LEAST_NAME_MM: Final = 1.2
_CHORD_MM: Final = 0.02

#: Every cut of a part by its name, the outline first.
Cuts = Mapping[str, tuple[Contour, tuple[Cut, ...]]]


def nested_sheet(filled: Filled, cuts: Cuts, name: str) -> CutSheet:
    """All parts of one sheet; its lower left corner is the origin, the sheet's own edge is not in it."""
    rounds: list[Round] = []
    chains: list[Chain] = []
    for one in filled.lying:
        outline, inner = cuts[one.piece.name]
        chains.append(chain_of(outline.moved(one.placement)))
        for cut in inner:
            moved = cut.moved(one.placement)
            if isinstance(moved, Circle):
                rounds.append(Round(moved.centre.x, moved.centre.y, moved.radius))
            else:
                chains.append(chain_of(moved))
    return CutSheet(name, tuple(rounds), tuple(chains))


def nest_picture(filled: Filled, cuts: Cuts, title: str) -> Sheet:
    """The sheet with its parts and their names, on one page."""
    plate = filled.plate
    scale = min((_WIDTH_MM - 2 * _EDGE_MM) / plate.length_mm, (_HEIGHT_MM - 2 * _EDGE_MM - _HEAD_MM) / plate.width_mm)
    corners = ((0.0, 0.0), (plate.length_mm, 0.0), (plate.length_mm, plate.width_mm), (0.0, plate.width_mm), (0.0, 0.0))
    edge = tuple(_on_paper(Point(x, y), scale) for x, y in corners)
    marks: list[Mark] = [Stroke(edge, 0.5, INK)]
    for one in filled.lying:
        marks += _part(one, cuts, scale)
    at = Point(_EDGE_MM, _HEIGHT_MM - _EDGE_MM)
    marks.append(Label(title, at, min(_HEAD_TEXT_MM, _HEAD_TEXT_MM * _share(title, _HEAD_TEXT_MM))))
    return Sheet(_WIDTH_MM, _HEIGHT_MM, tuple(marks))


def _share(text: str, size_mm: float) -> float:
    """How much smaller a text must be to go across the page; 1 or more when it fits."""
    return (_WIDTH_MM - 2 * _EDGE_MM) / max(text_width_mm(text, size_mm), 1.0)


def _part(one: Lying, cuts: Cuts, scale: float) -> Iterator[Mark]:
    outline, inner = cuts[one.piece.name]
    rings = tuple(_ring(c, one.placement, scale) for c in (outline, *inner))
    yield Fill(rings, HAIR, one.piece.name)
    for ring in rings:
        yield Stroke((*ring, ring[0]), 0.2, INK)
    x0, y0, x1, y1 = one.outline().bounds()
    middle = _on_paper(Point((x0 + x1) / 2, (y0 + y1) / 2), scale)
    size = _NAME_MM * min(1.0, 0.9 * (x1 - x0) * scale / max(text_width_mm(one.piece.name, _NAME_MM), 0.1))
    if size >= _LEAST_NAME_MM:
        yield Label(one.piece.name, Point(middle.x, middle.y - size / 3), size, FAINT, align=Align.CENTRE)


def _ring(cut: Cut, placement: Placement, scale: float) -> tuple[Point, ...]:
    chain = cut.contour() if isinstance(cut, Circle) else cut
    points = scratch_points(chain.anticlockwise().moved(placement), chord_error_mm=_CHORD_MM, side=Side.INSIDE)
    return tuple(_on_paper(p, scale) for p in points)


def _on_paper(p: Point, scale: float) -> Point:
    return Point(_EDGE_MM + p.x * scale, _EDGE_MM + p.y * scale)
