"""From the plane to the paper: the map, and the lines of a flat, which every page draws in line types of its own."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from bracketgen.bending.flat import Flat
from bracketgen.drawing.marks.free_room import FreeRoom
from bracketgen.drawing.marks.words import numbered_strips
from bracketgen.drawing.sheet import WAY_DASH, WAY_LINE, LineType, Stroke, box_of, centre_of, closed, cross
from bracketgen.geometry.contour import Cut, Edge
from bracketgen.geometry.edge import Box, Line
from bracketgen.geometry.plane import Placement, Point


def edge_points(edge: Edge, chord_mm: float) -> list[Point]:
    """Points along an edge without its end; no chord strays farther than `chord_mm` from the arc."""
    if isinstance(edge, Line):
        return [edge.start]
    half = math.acos(max(0.5, 1.0 - chord_mm / edge.radius)) if edge.radius > chord_mm else 1.0
    pieces = max(1, math.ceil(abs(edge.sweep_rad) / (2.0 * half)))
    return [edge.at(i / pieces) for i in range(pieces)]


def ring_points(cut: Cut, chord_mm: float) -> tuple[Point, ...]:
    """The corners of a closed chain or circle, anticlockwise, without the first again."""
    return tuple(p for e in cut.contour().anticlockwise().edges for p in edge_points(e, chord_mm))


class FaceUp(StrEnum):
    """Which face of the flat looks at the reader; the back is the described face's other side."""

    DESCRIBED = "described"
    BACK = "back"


@dataclass(frozen=True, slots=True)
class PaperMap:
    """From the model's plane (mm) to the paper (mm); the back is turned over about the y axis.

    `across` and `up` are what 1 mm along x and y becomes, `shift` is where the origin comes to lie.
    """

    across: Point
    up: Point
    shift: Point

    @staticmethod
    def putting(p: Point, to: Point, per_mm: tuple[float, float], face: FaceUp = FaceUp.DESCRIBED) -> PaperMap:
        """The map that lies level and puts a point there, `per_mm` of paper a mm across and up the sheet."""
        across = Point(per_mm[0] if face is FaceUp.DESCRIBED else -per_mm[0], 0.0)
        up = Point(0.0, per_mm[1])
        return PaperMap(across, up, to.plus(across, -p.x).plus(up, -p.y))

    @property
    def scale(self) -> float:
        """Mm of paper a mm of the model, across."""
        return self.across.length()

    @property
    def face(self) -> FaceUp:
        """The face that looks at the reader."""
        return FaceUp.DESCRIBED if self.across.cross(self.up) > 0.0 else FaceUp.BACK

    @property
    def level(self) -> bool:
        """Whether x lies across the paper, not up."""
        return abs(self.across.x) > abs(self.across.y)

    def point(self, p: Point) -> Point:
        """Where a point comes to lie on the paper."""
        return self.shift.plus(self.across, p.x).plus(self.up, p.y)

    def line(self, points: Sequence[Point]) -> tuple[Point, ...]:
        """A chain of points on the paper."""
        return tuple(map(self.point, points))

    def direction(self, d: Point) -> Point:
        """The same direction on the paper, with unchanged length."""
        return self.across.scaled(d.x).plus(self.up, d.y).scaled(1.0 / self.scale)

    def ring(self, cut: Cut, chord_mm: float = 0.02) -> tuple[Point, ...]:
        """A closed chain on the paper; `chord_mm` is counted on the paper."""
        return self.line(ring_points(cut, chord_mm / self.scale))

    def edge(self, edge: Edge, chord_mm: float = 0.02) -> tuple[Point, ...]:
        """An edge on the paper from end to end; `chord_mm` is counted on the paper."""
        return self.line((*edge_points(edge, chord_mm / self.scale), edge.end))

    def box(self, box: Box) -> Box:
        """The upright box on the paper around a box of the model (quarter turns only)."""
        return box_of((self.point(Point(*box[:2])), self.point(Point(*box[2:]))))


def centred_map(bounds: Box, area: Box, scale: float, turn_deg: float = 0.0) -> PaperMap:
    """The map to that scale that puts `bounds`, turned by 0 or 90 deg, into the middle of `area`."""
    turned = Placement.turned(turn_deg)
    across, up = Point(turned.cos, turned.sin).scaled(scale), Point(-turned.sin, turned.cos).scaled(scale)
    middle = centre_of(bounds)
    return PaperMap(across, up, centre_of(area).plus(across, -middle.x).plus(up, -middle.y))


def fitted_map(bounds: Box, area: Box, most_scale: float = math.inf, turn_deg: float = 0.0) -> PaperMap:
    """The largest map (up to `most_scale`) that puts `bounds`, turned by 0 or 90 deg, into the middle of `area`."""
    x0, y0, x1, y1 = bounds
    size = (x1 - x0, y1 - y0) if turn_deg == 0.0 else (y1 - y0, x1 - x0)
    room = (area[2] - area[0], area[3] - area[1])
    scale = min(most_scale, *(r / s for r, s in zip(room, size, strict=True) if s > 0.0))
    return centred_map(bounds, area, scale, turn_deg)


# -- the lines of a flat


@dataclass(frozen=True, slots=True)
class FlatLines:
    """In which line types a page draws a flat; what has none is left out.

    With `by_way`, bends are in the colour and dash of their way. `beyond_mm` is how far, on the paper, a centre cross
    reaches beyond its hole, `end_mm` how far small crosses reach from the ends of a slot (0: none are drawn).
    """

    outline: LineType
    hole: LineType
    tangent: LineType | None = None
    bend: LineType | None = None
    mark: LineType | None = None
    pilot: LineType | None = None
    centre: LineType | None = None
    scribed: LineType | None = None
    by_way: bool = True
    beyond_mm: float = 0.0
    end_mm: float = 0.0
    chord_mm: float = 0.02

    def drawn(self, flat: Flat, to_paper: PaperMap) -> list[Stroke]:
        """The flat's lines, bends first, the outline last."""
        made: list[Stroke] = []

        def put(line: LineType | None, points: Sequence[Point], shows: str) -> None:
            if line is not None:
                made.append(line.line(points, shows))

        for number, strip in numbered_strips(flat):
            tangent, bend, way = self.tangent, self.bend, strip.bend.way
            if self.by_way:
                tangent = tangent and replace(tangent, colour=WAY_LINE[way])
                bend = bend and replace(bend, colour=WAY_LINE[way], dash_mm=WAY_DASH[way])
            for across in (0.0, strip.metal.allowance_mm):
                put(tangent, to_paper.edge(strip.line_at(across)), f"tangent of bend {number}")
            put(bend, to_paper.edge(strip.centre_line), f"bend {number}")
        for panel in flat.part.panels:
            for mark in panel.marks:
                put(self.mark, to_paper.edge(mark.moved(flat.placements[panel.id])), "mark line")
        for hole in flat.holes:
            own = hole.hole
            put(self.hole, closed(to_paper.ring(hole.cut, self.chord_mm)), f"hole {own.id}")
            if own.pilot is not None:
                put(self.pilot, closed(to_paper.ring(hole.in_file, self.chord_mm)), f"pilot of {own.id}")
            for arm in cross(to_paper.point(hole.stated_at), to_paper.box(hole.cut.bounds()), self.beyond_mm):
                put(self.centre, arm, f"centre of {own.id}")
            for edge in own.shape.scribed:
                put(self.scribed, to_paper.edge(edge.moved(hole.placement), self.chord_mm), f"middle of {own.id}")
            for end in map(to_paper.point, hole.ends if self.end_mm and len(hole.ends) > 1 else ()):
                for arm in cross(end, (*end, *end), self.end_mm):
                    put(self.centre, arm, f"end of {own.id}")
        for opening in flat.openings:
            put(self.hole, closed(to_paper.ring(opening, self.chord_mm)), "opening")
        put(self.outline, closed(to_paper.ring(flat.outline, self.chord_mm)), "outline")
        return made


def ink_flat(room: FreeRoom, flat: Flat, to_paper: PaperMap, lines: Sequence[Stroke]) -> None:
    """Tell the free room where the flat's lines, other than those to be scribed, and its holes lie."""
    for line in lines:
        if line.shows != "mark line":
            room.ink_line(line.points)
    for hole in flat.holes:
        room.ink(to_paper.box(hole.cut.bounds()))
