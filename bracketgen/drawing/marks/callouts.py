"""Labels with leaders: each finds a free place near what it speaks of."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from typing import Final

from bracketgen.bending.flat import Flat
from bracketgen.drawing.marks.flat_lines import PaperMap
from bracketgen.drawing.marks.free_room import FreePlace, FreeRoom, Near
from bracketgen.drawing.marks.lettering import ASCENT, DESCENT, Weight, text_width_mm
from bracketgen.drawing.marks.words import bend_label, numbered_strips, weld_label
from bracketgen.drawing.sheet import (
    FAIL,
    FAINT,
    INK,
    PAPER,
    WARN,
    WAY_LINE,
    WHITE,
    Align,
    Colour,
    Fill,
    Label,
    Mark,
    Stroke,
    TextDirection,
    arrow,
    centre_of,
    closed,
    disc_points,
    level_label,
    padded,
    upright_label,
    within,
)
from bracketgen.findings import Finding, Level
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point, polar

#: Room around every label, mm.
AIR_MM: Final = 1.1
#: A label nearer than this to its target needs no leader.
_TOUCHING_MM: Final = 1.6
_LEADER_MM: Final = 0.25
_HEAD_MM: Final = 1.8
#: A leader begins this far off its letters, mm.
_OFF_MM: Final = 0.5
#: What a label that runs upright costs more than a level one, in mm of leader.
_UPRIGHT_COST: Final = 1.5
#: What the next smaller letters cost, in mm of leader: less than covering a line, more than any usual leader.
_SMALLER_COST: Final = 10.0
#: What a leader through another label costs more.
_STRUCK_COST: Final = 200.0
#: The most that a label may cost which must not strike another one out.
UNSTRUCK_COST: Final = 90.0
#: At most this many of a group's holes are thought of as places for the leader.
_MOST_TARGETS: Final = 12


class Leader(Enum):
    """Whether a leader is drawn: always, or only when the label does not lie beside its target."""

    ALWAYS = 1
    WHEN_APART = 2


@dataclass(frozen=True, slots=True)
class Target:
    """What a label points at: a round of `radius_mm` on the paper (0 = the point itself).

    `edge` is its true edge when it is not round; `cost` makes this target less welcome than others, mm.
    """

    centre: Point
    radius_mm: float = 0.0
    edge: tuple[Point, ...] = ()
    cost: float = 0.0


@dataclass(frozen=True, slots=True)
class Callout:
    """A text, what it points at (any one of `targets`), and the ways it may run.

    `smaller_mm` are letter sizes that are tried, largest first, before the label covers a line. A place that costs
    more than `most_cost`, in mm of leader, is not worth having.
    """

    text: str
    targets: tuple[Target, ...]
    size_mm: float
    shows: str
    colour: Colour = INK
    weight: Weight = Weight.BOLD
    leader: Leader = Leader.ALWAYS
    away_mm: float = 0.0
    readings: tuple[TextDirection, ...] = (TextDirection.LEVEL,)
    smaller_mm: tuple[float, ...] = ()
    most_cost: float = math.inf


@dataclass(frozen=True, slots=True)
class _Choice:
    cost: float
    size_mm: float
    box: Box
    reading: TextDirection
    line: tuple[Point, Point] | None
    target: Target


def place_callout(room: FreeRoom, callout: Callout) -> list[Mark] | None:
    """The label and its leader in the best free place, which is taken from then on; None when there is none."""
    chosen = _chosen(room, callout)
    if chosen is None or chosen.cost > callout.most_cost:
        return None
    room.take(chosen.box)
    inner = padded(chosen.box, -AIR_MM)
    make = level_label if chosen.reading is TextDirection.LEVEL else upright_label
    label = make(callout.text, inner, chosen.size_mm, callout.colour, callout.weight, callout.shows)
    if chosen.line is None:
        return [label]
    start, end = chosen.line[0], _on_edge(*chosen.line, chosen.target)
    room.take_line((start, end))
    length = start.distance(end)
    if length < 0.1:
        return [label]
    return [*arrow(start, end, _LEADER_MM, min(_HEAD_MM, length), callout.colour, callout.shows), label]


def _chosen(room: FreeRoom, callout: Callout) -> _Choice | None:
    """The best place in the largest letters that cost no more than smaller ones."""
    chosen: _Choice | None = None
    for step, size in enumerate((callout.size_mm, *callout.smaller_mm)):
        extra = _SMALLER_COST * step
        if chosen is not None and chosen.cost <= extra:
            break
        for reading in callout.readings:
            found = _best(room, replace(callout, size_mm=size), reading)
            if found is not None:
                chosen = _pick(chosen, replace(found, cost=found.cost + extra))
    return chosen


def label_size(
    text: str, size_mm: float, weight: Weight, reading: TextDirection = TextDirection.LEVEL
) -> tuple[float, float]:
    """Width and height of the paper that a label needs, with the air around it."""
    width = text_width_mm(text, size_mm, weight) + 2 * AIR_MM
    height = (ASCENT + DESCENT) * size_mm + 2 * AIR_MM
    return (width, height) if reading is TextDirection.LEVEL else (height, width)


def _best(room: FreeRoom, callout: Callout, reading: TextDirection) -> _Choice | None:
    width, height = label_size(callout.text, callout.size_mm, callout.weight, reading)
    targets = callout.targets[:: max(1, -(-len(callout.targets) // _MOST_TARGETS))]
    extra = _UPRIGHT_COST if reading is TextDirection.UPRIGHT else 0.0
    fallback: _Choice | None = None
    best: _Choice | None = None
    for spot in room.spots(width, height, [Near(t.centre, callout.away_mm, t.cost) for t in targets]):
        if spot.cost + extra >= (callout.most_cost if best is None else best.cost):
            break
        line, target = _leader(spot.box, targets)
        touching = callout.leader is Leader.WHEN_APART and line[0].distance(line[1]) <= _TOUCHING_MM
        if touching or _lies_on(spot.box, target):
            return _pick(best, _Choice(spot.cost + extra, callout.size_mm, spot.box, reading, None, target))
        hit, crossed = room.blocked(*line, spare_mm=0.0)
        cost = spot.cost + extra + crossed * 0.6 + (_STRUCK_COST if hit else 0.0)
        choice = _Choice(cost, callout.size_mm, spot.box, reading, line, target)
        if not hit:
            best = _pick(best, choice)
        fallback = _pick(fallback, choice)
    return best or fallback


def _pick(a: _Choice | None, b: _Choice) -> _Choice:
    return b if a is None or b.cost < a.cost else a


def _lies_on(box: Box, target: Target) -> bool:
    """Whether a label covers the very point that it speaks of, or lies so near that a leader would be all head."""
    x, y = target.centre
    x0, y0, x1, y1 = padded(box, _HEAD_MM - AIR_MM + _OFF_MM)
    return target.radius_mm == 0.0 and x0 <= x <= x1 and y0 <= y <= y1


def _leader(box: Box, targets: Sequence[Target]) -> tuple[tuple[Point, Point], Target]:
    """From one of the box's sides to the near edge of the nearest target, and that target."""
    starts = _starts(padded(box, -AIR_MM))
    middle = centre_of(box)
    near = sorted(targets, key=lambda t: middle.distance(t.centre) + t.cost)[:2]
    pairs = [(_leader_cost(start, out, t), start, t) for t in near for start, out in starts]
    _, start, target = min(pairs, key=lambda p: p[0])
    way = start.minus(target.centre)
    if way.length() <= target.radius_mm or way.length() == 0.0:
        return (start, start), target
    return (start, target.centre.plus(way.unit(), target.radius_mm)), target


def _starts(box: Box) -> list[tuple[Point, Point]]:
    """Where a leader may leave a label, and the direction out of the label there."""
    x0, y0, x1, y1 = box
    xm, ym, gap = (x0 + x1) / 2, (y0 + y1) / 2, _OFF_MM
    left, right, down, up = Point(-1.0, 0.0), Point(1.0, 0.0), Point(0.0, -1.0), Point(0.0, 1.0)
    sides = [(Point(x0 - gap, ym), left), (Point(x1 + gap, ym), right)]
    for x in (xm, (x0 + xm) / 2, (x1 + xm) / 2):
        sides += [(Point(x, y0 - gap), down), (Point(x, y1 + gap), up)]
    return sides


def _leader_cost(start: Point, out: Point, target: Target) -> float:
    """Length of a leader, and more when it would run along its own label."""
    way = target.centre.minus(start)
    length = way.length()
    along = length > 0.0 and way.dot(out) < 0.5 * length
    return max(0.0, length - target.radius_mm) + (4.0 if along else 0.0) + target.cost


def _on_edge(start: Point, end: Point, target: Target) -> Point:
    """Where a leader first meets the target's true edge on its way to the centre."""
    way = target.centre.minus(start)
    nearest, found = 2.0, end
    for a, b in zip(target.edge, (*target.edge[1:], *target.edge[:1]), strict=True):
        side = b.minus(a)
        across = way.cross(side)
        if across == 0.0:
            continue
        share, on_side = a.minus(start).cross(side) / across, a.minus(start).cross(way) / across
        if 0.0 <= share < nearest and 0.0 <= on_side <= 1.0:
            nearest, found = share, start.plus(way, share)
    return found


def place_inside(room: FreeRoom, text: str, box: Box, size_mm: float, weight: Weight, shows: str) -> Label:
    """A faint name in a box, as near to its middle as lines leave room; in the middle when they leave none."""
    wide, high = text_width_mm(text, size_mm, weight), (ASCENT + DESCENT) * size_mm
    middle = centre_of(box)
    # Near its left end counts, so that a free name stands in the middle.
    spots = [s.box for s in room.spots(wide, high, [Near(middle.plus(Point(-wide / 2, 0.0)))])]
    inside = (b for b in spots if within(Point(*b[:2]), box) and within(Point(*b[2:]), box))
    where = next(inside, (middle.x - wide / 2, middle.y - high / 2, middle.x + wide / 2, middle.y + high / 2))
    room.take(where)
    return level_label(text, where, size_mm, FAINT, weight, shows)


# -- what views of a flat share


def take_marks(room: FreeRoom, marks: Sequence[Mark]) -> None:
    """The room of words and lines that stand fast."""
    for mark in marks:
        if isinstance(mark, Label):
            room.take(padded(mark.box, AIR_MM))
        elif isinstance(mark, Stroke):
            room.take_line(mark.points)


def ink_marks(room: FreeRoom, marks: Iterable[Mark]) -> None:
    """The lines that are better left free."""
    for mark in marks:
        if isinstance(mark, Stroke):
            room.ink_line(mark.points)


def along(
    text: str, ends: Sequence[Point], half_mm: float, size_mm: float, shows: str, shares: Sequence[float]
) -> Callout:
    """A label along a line of the paper where there is room; `shares` are the places tried along it."""
    a, b = ends
    targets = tuple(Target(a.plus(b.minus(a), s), half_mm, cost=6.0 * abs(s - 0.5)) for s in shares)
    steep = abs(b.y - a.y) > 2.0 * abs(b.x - a.x)
    readings = (TextDirection.LEVEL, TextDirection.UPRIGHT) if steep else (TextDirection.LEVEL,)
    return Callout(text, targets, size_mm, shows, leader=Leader.WHEN_APART, away_mm=half_mm, readings=readings)


def bend_callouts(flat: Flat, to_paper: PaperMap, size_mm: float, shares: Sequence[float]) -> list[Callout]:
    """One label a bend along its centre line."""
    made: list[Callout] = []
    for number, strip in numbered_strips(flat):
        half = strip.metal.allowance_mm * to_paper.scale / 2
        ends = to_paper.edge(strip.centre_line)
        call = along(bend_label(number, strip.bend), ends, half, size_mm, f"bend {number}", shares)
        made.append(replace(call, colour=WAY_LINE[strip.bend.way]))
    return made


#: Where along a weld its arrow may end, its middle first: share, and what the place costs.
_WELD_SHARES: Final = ((0.5, 0.0), (0.35, 2.0), (0.65, 2.0), (0.2, 4.0), (0.8, 4.0))
_WELD_AWAY_MM: Final = 6.0


def weld_callouts(flat: Flat, to_paper: PaperMap, size_mm: float) -> list[Callout]:
    """One label a weld, its arrow at the edge that is welded."""
    made: list[Callout] = []
    for panel in flat.part.panels:
        move = flat.placements[panel.id]
        for weld in panel.welds:
            targets = tuple(
                Target(to_paper.point(move.point(run.at(share))), cost=cost)
                for run in weld.runs
                for share, cost in _WELD_SHARES
            )
            made.append(Callout(weld_label(weld), targets, size_mm, f"label of {weld.id}", away_mm=_WELD_AWAY_MM))
    return made


# -- numbered markers: a disc for the list, and one with a leader at the place

RADIUS_MM: Final = 2.6
_TEXT_MM: Final = 3.3
_PLACE_MM: Final = 1.3
_AWAY_MM: Final = 2.2


def marker(number: int, finding: Finding, centre: Point) -> list[Mark]:
    """A disc with the finding's number: eight-sided for fail, round for warn, an open ring for note or waived."""
    fail, shows = finding.level is Level.FAIL, f"finding {number}"
    face, words = (FAIL, WHITE) if fail else (WARN, INK)
    if finding.waived is not None or finding.level is Level.NOTE:
        face, words = PAPER, INK
    sides = 8 if fail else 32
    ring = tuple(centre.plus(polar(RADIUS_MM, math.tau * (i + 0.5) / sides)) for i in range(sides))
    at = centre.plus(Point(0.0, -0.36 * _TEXT_MM))
    return [
        Fill((ring,), face, shows),
        Stroke(closed(ring), 0.35, FAIL if fail else INK, shows=shows),
        Label(str(number), at, _TEXT_MM, words, Weight.BOLD, Align.CENTRE, shows=shows),
    ]


def placed_marker(room: FreeRoom, number: int, finding: Finding, at: Point) -> list[Mark] | None:
    """The marker near its place, with a leader to a small ring around the place; None when there is no room."""
    size = 2 * RADIUS_MM + 0.8
    spots = room.spots(size, size, [Near(at, _AWAY_MM)])
    if not spots:
        return None

    def cost(spot: FreePlace) -> float:
        hit, crossed = room.blocked(at, centre_of(spot.box), spare_mm=_PLACE_MM + 1.4)
        return spot.cost + crossed * 0.5 + (50.0 if hit else 0.0)

    best = min(spots, key=cost)
    centre, shows = centre_of(best.box), f"finding {number}"
    out = centre.minus(at)
    line: list[Mark] = []
    if out.length() > RADIUS_MM + _PLACE_MM:
        ends = (at.plus(out.unit(), _PLACE_MM), centre.plus(out.unit(), -RADIUS_MM))
        room.take_line(ends)
        line = [Stroke(ends, 0.35, INK, shows=shows)]
    room.take(best.box)
    ring = Stroke(closed(disc_points(at, _PLACE_MM)), 0.45, INK, shows=shows)
    return [ring, *line, *marker(number, finding, centre)]


def take_place(room: FreeRoom, at: Point) -> None:
    """Keep the ring around a finding's place free of words."""
    room.take(padded((*at, *at), _PLACE_MM + 0.4))
