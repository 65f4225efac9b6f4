"""The sheet of an inspected file: its outline with numbered findings, and the findings in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from bracketgen.drawing.marks.callouts import ink_marks, placed_marker, take_place
from bracketgen.drawing.marks.flat_lines import PaperMap, fitted_map
from bracketgen.drawing.marks.free_room import FreeRoom
from bracketgen.drawing.picture.head_and_foot import INNER, Numbered, band, findings_band, foot, framed, head
from bracketgen.drawing.sheet import (
    DESCRIBED_FACE,
    FAIL,
    FAINT,
    INK,
    WARN,
    WHITE,
    Align,
    Fill,
    Label,
    Mark,
    Sheet,
    Stroke,
    centre_of,
    padded,
    within,
)
from bracketgen.findings import Finding, Level
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point
from bracketgen.units import inches, plain

_MOST_FINDINGS_MM: Final = 62.0
#: Free ring round the drawing for the markers.
_RING_MM: Final = 14.0
_MOST_SCALE: Final = 40.0
#: So many places of one kind are marked; the printed lines name more.
_MOST_PLACES: Final = 6
_OUTLINE_MM: Final = 0.5
_LOOSE_MM: Final = 0.8

Line = tuple[Point, ...]

_NOTES: Final = (
    "Grey: metal. Red: lines that close to no contour. Dashed: layers taken as not cut.",
    "A picture, not a template. The shop that cuts the part has the last word; keep hands, hoses and tanks clear of "
    "raw cut edges.",
)


@dataclass(frozen=True, slots=True)
class Linework:
    """What is drawn, mm: the box round it, metal as rings (edge first, then openings), loose lines, marks."""

    box: Box
    metal: tuple[tuple[Line, ...], ...] = ()
    loose: tuple[Line, ...] = ()
    marks: tuple[Line, ...] = ()


@dataclass(frozen=True, slots=True)
class NumberedFinding:
    """A kind of finding with its number and every place where it is, mm."""

    number: int
    finding: Finding
    places: tuple[Point, ...]


def inspect_view(name: str, words: str, linework: Linework, spots: Sequence[NumberedFinding]) -> Sheet:
    """One page: the file's name, what it was read as, the drawing, and what was found."""
    x0, y0, x1, y1 = linework.box
    w, h = x1 - x0, y1 - y0
    size = ("size", f"{plain(w)} × {plain(h)} mm", f"{inches(w)} × {inches(h)} in")
    marks, y = head(name, ("read as", words), size, INNER)
    verdict, y = _verdict(spots, (*INNER[:3], y - 1.2))
    entries = [Numbered(s.number, s.finding) for s in spots]
    found, listed = findings_band(entries, INNER[2] - INNER[0], _MOST_FINDINGS_MM)
    below, low = foot(found, _NOTES, INNER)
    told = {entry.number for entry in listed}
    view = _view(linework, [s for s in spots if s.number in told], (INNER[0], low, INNER[2], y - 1.0))
    return framed((*marks, *verdict, *below, *view))


def _verdict(spots: Sequence[NumberedFinding], box: Box) -> tuple[list[Mark], float]:
    failed = sum(s.finding.level is Level.FAIL for s in spots)
    if failed:
        kinds = "a fault was" if failed == 1 else f"{failed} kinds of faults were"
        return band(f"DO NOT CUT FROM THIS FILE: {kinds} found, see the list below", FAIL, WHITE, box)
    if any(s.finding.level is Level.WARN for s in spots):
        return band("CAN BE CUT, but may be refused or misread: see the list below", WARN, INK, box)
    return [], box[3]


def _view(linework: Linework, spots: Sequence[NumberedFinding], area: Box) -> list[Mark]:
    if not (linework.metal or linework.loose or linework.marks):
        return [
            Label("nothing here that can be drawn", centre_of(area), 5.0, FAINT, align=Align.CENTRE, shows="nothing")
        ]
    to_paper = fitted_map(linework.box, padded(area, -_RING_MM), _MOST_SCALE)
    room = FreeRoom(area)
    marks: list[Mark] = []
    for rings in linework.metal:
        drawn = [to_paper.line(ring) for ring in rings]
        marks.append(Fill(tuple(drawn), DESCRIBED_FACE, "metal"))
        marks += [Stroke(ring, _OUTLINE_MM, INK, shows="contour") for ring in drawn]
    marks += [Stroke(to_paper.line(m), 0.3, INK, (2.4, 1.2), "mark") for m in linework.marks]
    marks += [Stroke(to_paper.line(line), _LOOSE_MM, FAIL, shows="loose") for line in linework.loose]
    ink_marks(room, marks)
    return [*marks, *_markers(spots, to_paper, room)]


def _markers(spots: Sequence[NumberedFinding], to_paper: PaperMap, room: FreeRoom) -> list[Mark]:
    """The numbers at their places, as far as there is room: the first of each kind before the second of any."""
    places = [(k, s, to_paper.point(p)) for s in spots for k, p in enumerate(_spread(s.places))]
    inside = [(k, s, p) for k, s, p in places if within(p, room.area)]
    for _, _, place in inside:
        take_place(room, place)
    marks: list[Mark] = []
    for _, spot, place in sorted(inside, key=lambda entry: entry[0]):
        marks += placed_marker(room, spot.number, spot.finding, place) or []
    return marks


def _spread(places: Sequence[Point]) -> list[Point]:
    """All places, or as many as are marked, from all parts of the row."""
    if len(places) <= _MOST_PLACES:
        return list(places)
    step = (len(places) - 1) / (_MOST_PLACES - 1)
    return [places[round(k * step)] for k in range(_MOST_PLACES)]
