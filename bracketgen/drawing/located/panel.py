"""One panel of the picture: a plan fitted into its box, with readings, ellipses, holes and their names."""

from __future__ import annotations

import math
from typing import Final

from bracketgen.drawing.located.grades import Grade
from bracketgen.drawing.located.plan import Plan, Rod, Spot
from bracketgen.drawing.marks.legend import bar_length_mm
from bracketgen.drawing.marks.plain_numbers import plain
from bracketgen.drawing.paper.free_room import FreeRoom
from bracketgen.drawing.paper.lettering import Weight, shortened
from bracketgen.drawing.paper.palette import DESCRIBED_FACE, FAIL, FAINT, HAIR, INK, PAPER
from bracketgen.drawing.paper.trace import PaperMap, arrow_head, closed, disc_points, fitted_map
from bracketgen.drawing.picture.callouts import Callout, Leader, Target, place_callout
from bracketgen.drawing.sheet import Align, Fill, Label, Mark, Stroke
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point

_TITLE_MM: Final = 3.6
_NAME_MM: Final = 3.4
_NOTE_MM: Final = 2.8
_MARGIN_MM: Final = 13.0
#: The smallest round that still shows a hole.
_LEAST_RADIUS_MM: Final = 1.1
_MOST_SCALE: Final = 4.0


def map_of(plan: Plan, box: Box) -> PaperMap:
    """The plan's map onto a panel's box."""
    xs, ys = [p.x for p in plan.points()], [p.y for p in plan.points()]
    bounds = (min(xs) - 1.0, min(ys) - 1.0, max(xs) + 1.0, max(ys) + 1.0)
    return fitted_map(bounds, _inner(box), _MOST_SCALE, 0.0)


def _inner(box: Box) -> Box:
    x0, y0, x1, y1 = box
    return (x0 + _MARGIN_MM, y0 + _MARGIN_MM, x1 - _MARGIN_MM, y1 - _MARGIN_MM - 2.0)


def panel(plan: Plan, box: Box, magnified: float) -> list[Mark]:
    """The panel's marks; ellipses are drawn `magnified` times too large."""
    to_paper = map_of(plan, box)
    x0, y0, x1, y1 = box
    room = FreeRoom((x0 + 1.0, y0 + 6.0, x1 - 1.0, y1 - _TITLE_MM - 3.0))
    marks: list[Mark] = [Stroke(closed((Point(x0, y0), Point(x1, y0), Point(x1, y1), Point(x0, y1))), 0.25, HAIR)]
    title = shortened(plan.title, x1 - x0 - 4.0, _TITLE_MM, Weight.BOLD)
    marks.append(Label(title, Point(x0 + 2.0, y1 - _TITLE_MM - 1.2), _TITLE_MM, INK, Weight.BOLD))
    for side in plan.sides:
        marks += _side([to_paper.point(p) for p in side])
    for rod in sorted(plan.rods, key=lambda r: list(Grade).index(r.grade) == 2):
        marks.append(_rod(rod, to_paper, room))
    for start, end, name in plan.pointers:
        marks += _pointer(to_paper.point(start), to_paper.point(end), name, room)
    for spot in plan.spots:
        marks += _spot(spot, to_paper, magnified, room)
    for rod in plan.rods:
        if rod.numbered:
            marks += _number(rod, to_paper, room)
    for spot in plan.spots:
        marks += _name(spot, to_paper, room)
    return marks + _scale(to_paper.scale, Point(x0 + 3.0, y0 + 2.6))


def _side(points: list[Point]) -> list[Mark]:
    marks: list[Mark] = [Fill((tuple(points[:-1]),), DESCRIBED_FACE)] if len(points) > 3 else []
    return [*marks, Stroke(tuple(points), 0.25, FAINT)] if len(points) > 1 else marks


def _rod(rod: Rod, to_paper: PaperMap, room: FreeRoom) -> Mark:
    ends = (to_paper.point(rod.start), to_paper.point(rod.end))
    room.ink_line(ends)
    pen = rod.grade.value
    return Stroke(ends, pen.width_mm, pen.colour, pen.dash_mm, shows=f"reading {rod.reading + 1}")


def _pointer(start: Point, tip: Point, name: str, room: FreeRoom) -> list[Mark]:
    way = tip.minus(start)
    if way.length() < 0.5:
        return []
    room.ink_line((start, tip))
    head = arrow_head(tip, way.unit(), min(2.4, way.length()))
    return [Stroke((start, tip), 0.35, INK, shows=f"normal {name}"), Fill((head,), INK, f"normal {name}")]


def _spot(spot: Spot, to_paper: PaperMap, magnified: float, room: FreeRoom) -> list[Mark]:
    at = to_paper.point(spot.at)
    radius = max(_LEAST_RADIUS_MM, spot.radius * to_paper.scale)
    room.take((at.x - radius, at.y - radius, at.x + radius, at.y + radius))
    ring = disc_points(at, radius)
    colour = FAIL if spot.loose else INK
    marks: list[Mark] = [Fill((ring,), PAPER, spot.id), Stroke(closed(ring), 0.45, colour, shows=spot.id)]
    marks += [] if spot.loose else _ellipse(spot, to_paper, magnified, room)
    cross = ((Point(-0.8, 0.0), Point(0.8, 0.0)), (Point(0.0, -0.8), Point(0.0, 0.8)))
    return [*marks, *(Stroke((at.plus(a), at.plus(b)), 0.2, INK) for a, b in cross)]


def _ellipse(spot: Spot, to_paper: PaperMap, magnified: float, room: FreeRoom) -> list[Mark]:
    grown = to_paper.scale * magnified
    if spot.long_axis.length() * grown < 0.3:
        return []
    at = to_paper.point(spot.at)
    ring = []
    for n in range(48):
        a = 2.0 * math.pi * n / 48
        ring.append(at.plus(spot.long_axis, grown * math.cos(a)).plus(spot.short_axis, grown * math.sin(a)))
    room.ink_line(closed(ring))
    return [Stroke(closed(ring), 0.4, (60, 74, 130), shows=f"ellipse {spot.id}")]


def _number(rod: Rod, to_paper: PaperMap, room: FreeRoom) -> list[Mark]:
    """The number of a reading that stands out, beside its line."""
    a, b = to_paper.point(rod.start), to_paper.point(rod.end)
    middle = Point((a.x + b.x) / 2, (a.y + b.y) / 2)
    pen = rod.grade.value
    text = f"reading {rod.reading + 1}" + ("?" if rod.grade is Grade.WRONG else "")
    shows = f"reading {rod.reading + 1}"
    call = Callout(text, (Target(middle),), _NAME_MM, shows, pen.colour, Weight.BOLD, Leader.WHEN_APART, 1.0)
    return place_callout(room, call) or []


def _name(spot: Spot, to_paper: PaperMap, room: FreeRoom) -> list[Mark]:
    radius = max(_LEAST_RADIUS_MM, spot.radius * to_paper.scale)
    text = f"{spot.label}: loose" if spot.loose else spot.label
    colour = FAIL if spot.loose else INK
    target = Target(to_paper.point(spot.at), radius)
    call = Callout(text, (target,), _NAME_MM, spot.id, colour, Weight.BOLD, Leader.WHEN_APART, radius)
    return place_callout(room, call) or []


def _scale(scale: float, at: Point) -> list[Mark]:
    length = bar_length_mm(scale)
    end = at.plus(Point(length * scale, 0.0))
    ticks = [Stroke((p.plus(Point(0.0, -0.8)), p.plus(Point(0.0, 0.8))), 0.3, FAINT) for p in (at, end)]
    words = Label(f"{plain(length)} mm", end.plus(Point(1.5, -1.0)), _NOTE_MM, FAINT, align=Align.LEFT)
    return [Stroke((at, end), 0.3, FAINT), *ticks, words]
