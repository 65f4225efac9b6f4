"""The view of the flat with everything that is written on it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Final

from bracketgen.bending.flat import Flat
from bracketgen.drawing.marks import dimensions
from bracketgen.drawing.marks.bend_words import bend_label, numbered_strips
from bracketgen.drawing.marks.finding_markers import placed_marker, take_place
from bracketgen.drawing.marks.flat_shape import flat_shape, ink_shape
from bracketgen.drawing.marks.hole_groups import HoleGroup, hole_groups
from bracketgen.drawing.marks.legend import HEIGHT_MM as LEGEND_MM
from bracketgen.drawing.marks.legend import legend
from bracketgen.drawing.marks.weld_words import weld_callouts
from bracketgen.drawing.paper.free_room import FreeRoom
from bracketgen.drawing.paper.lettering import Weight
from bracketgen.drawing.paper.palette import INK, WAY_LINE
from bracketgen.drawing.paper.trace import PaperMap, fitted_map
from bracketgen.drawing.picture.callouts import AIR_MM, Callout, Leader, Target, label_size, padded, place_callout
from bracketgen.drawing.picture.findings_list import Numbered
from bracketgen.drawing.sheet import Label, Mark, Reading, Stroke, level_label
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point

#: Nothing is drawn larger than this many times its size.
MOST_SCALE: Final = 5.0
#: A flat is turned a quarter only when that makes it this much larger.
_WORTH_TURNING: Final = 1.2
_HEAD_MM: Final = 7.0
_CALLOUT_MM: Final = 3.8
_LETTER_MM: Final = 3.3
#: More groups than this are listed beside the view instead of called out on it.
_MOST_CALLED_OUT: Final = 9
#: Paper kept free around the flat for labels, tried from the least to the most.
_RINGS_MM: Final = (7.0, 12.0, 18.0, 26.0, 34.0)


class Naming(Enum):
    """Where the sizes of holes are written."""

    ON_VIEW = "beside the holes"
    IN_LIST = "in a list, by letter"


@dataclass(frozen=True, slots=True)
class FlatView:
    """The view's marks, the groups left for the list, and the map that was used."""

    marks: tuple[Mark, ...]
    listed: tuple[HoleGroup, ...]
    to_paper: PaperMap


def naming(flat: Flat) -> Naming:
    """On the view as long as that stays readable."""
    return Naming.ON_VIEW if len(hole_groups(flat)) <= _MOST_CALLED_OUT else Naming.IN_LIST


def best_map(flat: Flat, area: Box, ring_mm: float) -> PaperMap:
    """How the flat fills `area` with `ring_mm` free around it and its overall sizes on the left and below."""
    level, turned = (_map(flat, area, ring_mm, turn) for turn in (0.0, 90.0))
    return turned if turned.scale > _WORTH_TURNING * level.scale else level


def view_area(box: Box) -> Box:
    """The part of the view's box between its heading and the legend."""
    return (box[0], box[1] + LEGEND_MM + 1.0, box[2], box[3] - _HEAD_MM)


def flat_view(flat: Flat, findings: Sequence[Numbered], box: Box, names: Naming) -> FlatView:
    """The flat drawn as large as its labels allow inside `box`.

    When the least scale still leaves no room for a label, hole sizes go to the list, and what then finds no room is
    left to the lists of facts and findings, which name everything.
    """
    tries = [(ring, n) for n in (names, Naming.IN_LIST) for ring in _RINGS_MM]
    for ring, how in tries:
        view, missing = _attempt(flat, findings, box, ring, how)
        if not missing:
            break
    return view


def _map(flat: Flat, area: Box, ring_mm: float, turn_deg: float) -> PaperMap:
    x0, y0, x1, y1 = flat.bounds_mm
    height = y1 - y0 if turn_deg == 0.0 else x1 - x0
    left = dimensions.REACH_MM
    for _ in range(2):
        free = (area[0] + left + 1.0, area[1] + dimensions.REACH_MM + 1.0, area[2] - ring_mm, area[3] - ring_mm)
        found = fitted_map(flat.bounds_mm, free, MOST_SCALE, turn_deg)
        left = dimensions.reach_left(height, height * found.scale)
    return found


def _attempt(flat: Flat, findings: Sequence[Numbered], box: Box, ring_mm: float, names: Naming) -> tuple[FlatView, int]:
    """The view with one width of free ring, and how many labels found no room."""
    area = view_area(box)
    to_paper = best_map(flat, area, ring_mm)
    room = FreeRoom(area)
    ink_shape(room, flat, to_paper)
    sizes = _sizes(flat, to_paper, area)
    for mark in sizes:
        if isinstance(mark, Label):
            room.take(padded(mark.box, AIR_MM))
        elif isinstance(mark, Stroke):
            room.take_line(mark.points)
    groups = hole_groups(flat, 1 if names is Naming.IN_LIST else 2)
    placed, missing = _placed(room, flat, findings, groups, to_paper, names)
    turned = "" if abs(to_paper.placement.cos) > 0.5 else " (view turned a quarter)"
    words = f"FLAT, this face up: described face{turned}"
    head = Label(words, Point(box[0], box[3] - 4.6), 4.0, INK, Weight.BOLD, shows="face up")
    foot = legend(flat, to_paper, (box[0], box[1], box[2], box[1] + LEGEND_MM))
    marks = (*flat_shape(flat, to_paper), head, *sizes, *placed, *foot)
    return FlatView(marks, tuple(groups) if names is Naming.IN_LIST else (), to_paper), missing


def _placed(
    room: FreeRoom,
    flat: Flat,
    findings: Sequence[Numbered],
    groups: Sequence[HoleGroup],
    to_paper: PaperMap,
    names: Naming,
) -> tuple[list[Mark], int]:
    """All labels that look for their place, the pickiest first, and how many found none."""
    found: list[list[Mark] | None] = []
    places = {e.number: to_paper.point(Point(*e.finding.at_mm)) for e in findings if e.finding.at_mm is not None}
    for at in places.values():
        take_place(room, at)
    found += _letters(room, groups, to_paper)
    for entry in findings:
        if entry.number in places:
            found.append(placed_marker(room, entry.number, entry.finding, places[entry.number]))
    if names is Naming.ON_VIEW:
        found += [place_callout(room, _group_callout(g, to_paper)) for g in groups]
    found += [place_callout(room, c) for c in _bend_callouts(flat, to_paper)]
    found += [place_callout(room, c) for c in weld_callouts(flat, to_paper, _CALLOUT_MM)]
    return [m for marks in found if marks for m in marks], sum(marks is None for marks in found)


def _letters(room: FreeRoom, groups: Sequence[HoleGroup], to_paper: PaperMap) -> list[list[Mark] | None]:
    """A letter in or beside each hole of a lettered group; first those that fit inside."""
    holes = [(g, h) for g in groups if g.letter for h in g.holes]
    made: list[list[Mark] | None] = []
    outside: list[Callout] = []
    for group, flat_hole in holes:
        x0, y0, x1, y1 = to_paper.box(flat_hole.cut.bounds())
        centre, radius = to_paper.point(flat_hole.stated_at), min(x1 - x0, y1 - y0) / 2
        width, height = label_size(group.letter, _LETTER_MM, Weight.BOLD)
        shows = f"letter of {flat_hole.hole.id}"
        box = (centre.x - width / 2, centre.y - height / 2, centre.x + width / 2, centre.y + height / 2)
        if 4 * radius * radius >= width * width + (0.7 * height) ** 2 and room.free(box):
            room.take(box)
            inner = padded(box, -AIR_MM)
            made.append([level_label(group.letter, inner, _LETTER_MM, INK, Weight.BOLD, shows)])
        else:
            target = (Target(centre, radius),)
            outside.append(Callout(group.letter, target, _LETTER_MM, shows, leader=Leader.WHEN_APART, away_mm=radius))
    return made + [place_callout(room, c) for c in outside]


def _bend_callouts(flat: Flat, to_paper: PaperMap) -> list[Callout]:
    """One label a bend, along its centre line where there is room."""
    made: list[Callout] = []
    for number, strip in numbered_strips(flat):
        line = strip.centre_line
        ends = (to_paper.point(line.start), to_paper.point(line.end))
        half = strip.metal.allowance_mm * to_paper.scale / 2
        targets = tuple(
            Target(ends[0].plus(ends[1].minus(ends[0]), s), half, cost=6.0 * abs(s - 0.5))
            for s in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9)
        )
        steep = abs(ends[1].y - ends[0].y) > 2.0 * abs(ends[1].x - ends[0].x)
        made.append(
            Callout(
                bend_label(number, strip.bend),
                targets,
                _CALLOUT_MM,
                f"bend {number}",
                WAY_LINE[strip.bend.way],
                leader=Leader.WHEN_APART,
                away_mm=half,
                readings=(Reading.LEVEL, Reading.UPRIGHT) if steep else (Reading.LEVEL,),
            )
        )
    return made


def _group_callout(group: HoleGroup, to_paper: PaperMap) -> Callout:
    targets: list[Target] = []
    for flat_hole in group.holes:
        x0, y0, x1, y1 = to_paper.box(flat_hole.cut.bounds())
        edge = to_paper.ring(flat_hole.cut)
        targets.append(Target(to_paper.point(flat_hole.stated_at), min(x1 - x0, y1 - y0) / 2, edge))
    away = min(t.radius_mm for t in targets) + 4.0
    return Callout(group.text, tuple(targets), _CALLOUT_MM, group.shows, away_mm=away)


def _sizes(flat: Flat, to_paper: PaperMap, area: Box) -> list[Mark]:
    """The overall sizes of the flat as it lies in the view."""
    x0, y0, x1, y1 = flat.bounds_mm
    shape = to_paper.box(flat.bounds_mm)
    level = abs(to_paper.placement.cos) > 0.5
    wide, high = (x1 - x0, y1 - y0) if level else (y1 - y0, x1 - x0)
    return [*dimensions.width_marks(wide, shape, area), *dimensions.height_marks(high, shape)]
