"""The whole preview sheet: where the views, the facts and the findings go, and the column of facts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Final

from bracketgen.bending.flat import Flat
from bracketgen.bending.fold import Folded
from bracketgen.drawing.marks import dimensions
from bracketgen.drawing.marks.bend_words import bend_label, bend_line, numbered_strips
from bracketgen.drawing.marks.finding_markers import placed_marker, take_place
from bracketgen.drawing.marks.flat_shape import flat_shape, ink_shape
from bracketgen.drawing.marks.hole_groups import HoleGroup, hole_groups
from bracketgen.drawing.marks.legend import HEIGHT_MM as LEGEND_MM
from bracketgen.drawing.marks.legend import legend
from bracketgen.drawing.marks.plain_numbers import plain
from bracketgen.drawing.marks.weld_words import weld_callouts
from bracketgen.drawing.paper.free_room import FreeRoom
from bracketgen.drawing.paper.lettering import LEADING, Weight, text_width_mm, wrapped
from bracketgen.drawing.paper.palette import HAIR, INK, WAY_LINE, Colour
from bracketgen.drawing.paper.trace import PaperMap, fitted_map
from bracketgen.drawing.picture.callouts import AIR_MM, Callout, Leader, Target, label_size, padded, place_callout
from bracketgen.drawing.picture.folded_view import folded_view
from bracketgen.drawing.picture.head_and_foot import (
    KG_PER_LB,
    Numbered,
    TextBlock,
    findings_block,
    header,
    numbered,
    small_print,
)
from bracketgen.drawing.sheet import Label, Mark, Reading, Sheet, Stroke, level_label
from bracketgen.findings import Finding
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point

#: A4 landscape, ISO 216.
WIDTH_MM: Final = 297.0
HEIGHT_MM: Final = 210.0
_EDGE_MM: Final = 8.0
_TEXT_MM: Final = 3.4
_COLUMN_MM: Final = 88.0
_BETWEEN_MM: Final = 5.0
#: Height of the row of folded view and facts when they stand below a long flat.
_ROW_MM: Final = 58.0
#: What a flat above the row needs beside its own height: heading, sizes, two rows of labels each side, legend.
_AROUND_MM: Final = 68.0
_MOST_FINDINGS_MM: Final = 50.0
#: The views stand one below the other only when the flat gains this much.
_WORTH_STACKING: Final = 1.25

_NOTES: Final = (
    "Sizes are nominal, without kerf. A picture, not a template: don't mark out from it. "
    "Thickness, radii and allowances in mm.",
)
_BEND_NOTES: Final = (
    "A bend turned up comes toward you with the described face up; 'turn' counts from flat, 'between' is the rest to "
    "180°, 'takes' is the allowance between the thin lines.",
)


#: Where the flat, the folded view and the facts go.
_Places = tuple[Box, Box, Box]


def preview(flat: Flat, folded: Folded, findings: Sequence[Finding]) -> Sheet:
    """One page that shows the flat, the folded part, and what the rules found, for the workshop."""
    edge = (_EDGE_MM, _EDGE_MM, WIDTH_MM - _EDGE_MM, HEIGHT_MM - _EDGE_MM)
    marks, y = header(flat, findings, edge)
    low, bottom, listed = _bottom(flat, findings, edge)
    upper = (edge[0], low + 3.0, edge[2], y - 1.0)
    for_flat, for_folded, for_facts = _places(flat, upper)
    view = flat_view(flat, listed, for_flat, naming(flat))
    facts = _facts(flat, view.listed, for_facts[2] - for_facts[0])
    marks += view.marks
    marks += folded_view(folded, for_folded)
    marks += facts.at(Point(for_facts[0], for_facts[3]))
    marks.append(Stroke((Point(edge[0], low + 1.5), Point(edge[2], low + 1.5)), 0.3, HAIR))
    frame = _frame((2.5, 2.5, WIDTH_MM - 2.5, HEIGHT_MM - 2.5))
    return Sheet(WIDTH_MM, HEIGHT_MM, (frame, *marks, *bottom))


def _bottom(flat: Flat, findings: Sequence[Finding], edge: Box) -> tuple[float, list[Mark], list[Numbered]]:
    """Findings and small print at the foot: the y where they begin, their marks, and the findings that are listed."""
    small = small_print((*flat.part.cautions, *_NOTES, *(_BEND_NOTES if flat.strips else ())), edge[2] - edge[0])
    block, listed = findings_block(numbered(findings), edge[2] - edge[0], _MOST_FINDINGS_MM)
    top = edge[1] + small.height_mm + 1.0 + block.height_mm
    marks = block.at(Point(edge[0], top)) + small.at(Point(edge[0], edge[1] + small.height_mm))
    return top, marks, listed


def _places(flat: Flat, upper: Box) -> _Places:
    """Flat on the left with the others in a column, or above them when it is long and gains by it."""
    beside, stacked = _beside(flat, upper), _stacked(flat, upper)
    gains = [best_map(flat, view_area(p[0]), 12.0).scale for p in (beside, stacked)]
    return stacked if gains[1] > _WORTH_STACKING * gains[0] else beside


def _beside(flat: Flat, upper: Box) -> _Places:
    x0, y0, x1, y1 = upper
    column = x1 - _COLUMN_MM
    listed = hole_groups(flat, 1) if naming(flat) is Naming.IN_LIST else []
    facts = _facts(flat, listed, _COLUMN_MM).height_mm
    split = y0 + facts + 2.0
    return ((x0, y0, column - _BETWEEN_MM, y1), (column, split, x1, y1), (column, y0, x1, split - 2.0))


def _stacked(flat: Flat, upper: Box) -> _Places:
    x0, y0, x1, y1 = upper
    widest = (x0, y0 + _ROW_MM, x1, y1)
    x_least, y_least, x_most, y_most = best_map(flat, view_area(widest), 12.0).box(flat.bounds_mm)
    needed = min(y_most - y_least, x_most - x_least) + _AROUND_MM
    split = max(y0 + _ROW_MM, y1 - needed)
    column = x1 - _COLUMN_MM
    return ((x0, split + 1.0, x1, y1), (x0, y0, column - _BETWEEN_MM, split), (column, y0, x1, split))


def _frame(box: Box) -> Mark:
    x0, y0, x1, y1 = box
    corners = (Point(x0, y0), Point(x1, y0), Point(x1, y1), Point(x0, y1), Point(x0, y0))
    return Stroke(corners, 0.5, INK)


# -- mass, cut length, bends, and holes that found no room on the view


def _facts(flat: Flat, listed: Sequence[HoleGroup], width_mm: float) -> TextBlock:
    """The facts in lines of at most `width_mm`."""
    step = _TEXT_MM * LEADING
    rows: list[tuple[Point, Label]] = []
    for text, colour, weight, shows in _entries(flat, listed, width_mm):
        fits = text_width_mm(text, _TEXT_MM, weight) <= width_mm
        for line in [text] if fits else wrapped(text, width_mm, _TEXT_MM, weight):
            at = Point(0.0, -_TEXT_MM - step * len(rows))
            rows.append((at, Label(line, at, _TEXT_MM, colour, weight, shows=shows)))
    return TextBlock(step * len(rows), tuple(rows))


def _entries(flat: Flat, listed: Sequence[HoleGroup], width_mm: float) -> list[tuple[str, Colour, Weight, str]]:
    kg = flat.mass_kg
    pierces = flat.pierces
    rows = [
        (f"mass {plain(kg, 3)} kg ({plain(kg / KG_PER_LB, 2)} lb)", INK, Weight.BOLD, "mass"),
        (f"cut {plain(flat.cut_length_mm, 0)} mm, {pierces} pierce{'s' * (pierces != 1)}", INK, Weight.BOLD, "cut"),
    ]
    for number, strip in numbered_strips(flat):
        text = bend_line(number, strip)
        rows.append((text, WAY_LINE[strip.bend.way], Weight.PLAIN, f"bend {number}"))
    rows += [(line, INK, Weight.PLAIN, "holes") for line in _packed([g.text for g in listed], width_mm)]
    return rows


def _packed(texts: Sequence[str], width_mm: float) -> list[str]:
    """Short texts side by side, as many to a line as fit."""
    lines: list[str] = []
    for text in texts:
        longer = f"{lines[-1]}    {text}" if lines else text
        if lines and text_width_mm(longer, _TEXT_MM) <= width_mm:
            lines[-1] = longer
        else:
            lines.append(text)
    return lines


# The view of the flat with everything that is written on it.


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
