"""Numbered markers: a disc for the list, and one with a leader at the place in the flat."""

from __future__ import annotations

from typing import Final

from bracketgen.drawing.paper.free_room import FreeRoom, Near
from bracketgen.drawing.paper.lettering import Weight
from bracketgen.drawing.paper.palette import FAIL, INK, PAPER, WARN, WHITE, Colour
from bracketgen.drawing.paper.trace import closed, disc_points
from bracketgen.drawing.sheet import Align, Fill, Label, Mark, Stroke
from bracketgen.findings import Finding, Level
from bracketgen.geometry.plane import Placement, Point

RADIUS_MM: Final = 2.6
_TEXT_MM: Final = 3.3
_RING_MM: Final = 1.3
_AWAY_MM: Final = 2.2


def marker(number: int, finding: Finding, centre: Point) -> list[Mark]:
    """A disc with the finding's number: eight-sided for fail, round for warn, an open ring for note or waived."""
    face, words = _colours(finding)
    sides = 8 if finding.level is Level.FAIL else 32
    ring = _regular(centre, sides)
    at = centre.plus(Point(0.0, -0.36 * _TEXT_MM))
    return [
        Fill((ring,), face, _shows(number)),
        Stroke(closed(ring), 0.35, FAIL if finding.level is Level.FAIL else INK, shows=_shows(number)),
        Label(str(number), at, _TEXT_MM, words, Weight.BOLD, Align.CENTRE, shows=_shows(number)),
    ]


def placed_marker(room: FreeRoom, number: int, finding: Finding, at: Point) -> list[Mark] | None:
    """The marker near its place, with a leader to a small ring around the place; None when there is no room."""
    size = 2 * RADIUS_MM + 0.8
    spots = room.spots(size, size, [Near(at, _AWAY_MM)])
    if not spots:
        return None
    best = min(spots, key=lambda s: s.cost + _crossing_cost(room, _centre(s.box), at))
    centre = _centre(best.box)
    out = centre.minus(at)
    line: list[Mark] = []
    if out.length() > RADIUS_MM + _RING_MM:
        ends = (at.plus(out.unit(), _RING_MM), centre.plus(out.unit(), -RADIUS_MM))
        room.take_line(ends)
        line = [Stroke(ends, 0.35, INK, shows=_shows(number))]
    room.take(best.box)
    ring = Stroke(closed(disc_points(at, _RING_MM)), 0.45, INK, shows=_shows(number))
    return [ring, *line, *marker(number, finding, centre)]


def take_place(room: FreeRoom, at: Point) -> None:
    """Keep the ring around a finding's place free of words."""
    reach = _RING_MM + 0.4
    room.take((at.x - reach, at.y - reach, at.x + reach, at.y + reach))


def _crossing_cost(room: FreeRoom, centre: Point, at: Point) -> float:
    hit, crossed = room.blocked(at, centre, spare_mm=_RING_MM + 1.4)
    return crossed * 0.5 + (50.0 if hit else 0.0)


def _colours(finding: Finding) -> tuple[Colour, Colour]:
    """Face and number."""
    if finding.waived is not None or finding.level is Level.NOTE:
        return PAPER, INK
    return (FAIL, WHITE) if finding.level is Level.FAIL else (WARN, INK)


def _regular(centre: Point, sides: int) -> tuple[Point, ...]:
    turned = Placement.turned(180.0 / sides)
    corner = turned.point(Point(RADIUS_MM, 0.0))
    return tuple(centre.plus(Placement.turned(360.0 * i / sides).point(corner)) for i in range(sides))


def _centre(box: tuple[float, float, float, float]) -> Point:
    return Point((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)


def _shows(number: int) -> str:
    return f"finding {number}"
