"""The preview: where its views, facts and findings go, the column of facts, and the view of the flat."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from bracketgen.bending.flat import Flat
from bracketgen.bending.fold import Folded
from bracketgen.drawing.columns import Band, paragraph, stacked
from bracketgen.drawing.marks.callouts import (
    AIR_MM,
    Callout,
    Leader,
    Target,
    bend_callouts,
    label_size,
    place_callout,
    placed_marker,
    take_marks,
    take_place,
    weld_callouts,
)
from bracketgen.drawing.marks.dimensions import LEGEND_MM, legend, overall_sizes, sized_map
from bracketgen.drawing.marks.flat_lines import FlatLines, PaperMap, ink_flat
from bracketgen.drawing.marks.free_room import FreeRoom
from bracketgen.drawing.marks.lettering import Weight, text_width_mm
from bracketgen.drawing.marks.words import HoleGroup, bend_line, hole_groups, numbered_strips
from bracketgen.drawing.picture.folded_view import folded_view
from bracketgen.drawing.picture.head_and_foot import (
    INNER,
    VIEW_TITLE_MM,
    Numbered,
    findings_band,
    foot,
    framed,
    header,
    numbered,
    view_title,
)
from bracketgen.drawing.sheet import (
    DESCRIBED_FACE,
    FAINT,
    INK,
    WAY_LINE,
    WAY_TINT,
    Colour,
    Fill,
    LineType,
    Mark,
    Sheet,
    level_label,
    padded,
)
from bracketgen.findings import Finding
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point
from bracketgen.units import KG_PER_LB, plain

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


def preview(flat: Flat, folded: Folded, findings: Sequence[Finding], site_mark: str = "") -> Sheet:
    """One page that shows the flat, the folded part, and what the rules found, for the workshop."""
    marks, y = header(flat, findings, INNER, site_mark)
    texts = (*_NOTES, *(_BEND_NOTES if flat.strips else ()))
    found, listed = findings_band(numbered(findings), INNER[2] - INNER[0], _MOST_FINDINGS_MM)
    bottom, low = foot(found, texts, INNER, flat.part.cautions)
    for_flat, for_folded, for_facts = _places(flat, (INNER[0], low, INNER[2], y - 1.0))
    view, groups = flat_view(flat, listed, for_flat)
    facts = _facts(flat, groups, for_facts[2] - for_facts[0])
    marks += [*view, *folded_view(folded, for_folded), *facts.at(Point(for_facts[0], for_facts[3]))]
    return framed((*marks, *bottom))


def _places(flat: Flat, upper: Box) -> tuple[Box, Box, Box]:
    """Where the flat, the folded view and the facts go.

    The flat stands on the left with the others in a column, or above them when it is long and gains by it.
    """
    x0, y0, x1, y1 = upper
    column = x1 - _COLUMN_MM
    split = y0 + _facts(flat, hole_groups(flat, 1) if _in_list(flat) else [], _COLUMN_MM).height_mm + 2.0
    beside = ((x0, y0, column - _BETWEEN_MM, y1), (column, split, x1, y1), (column, y0, x1, split - 2.0))
    least = y0 + _ROW_MM
    view = best_map(flat, view_area((x0, least, x1, y1)), 12.0).box(flat.bounds_mm)
    split = max(least, y1 - (view[3] - view[1]) - _AROUND_MM)
    above = ((x0, split + 1.0, x1, y1), (x0, y0, column - _BETWEEN_MM, split), (column, y0, x1, split))
    gains = [best_map(flat, view_area(p[0]), 12.0).scale for p in (beside, above)]
    return above if gains[1] > _WORTH_STACKING * gains[0] else beside


# -- mass, cut length, bends, and holes that found no room on the view


def _facts(flat: Flat, listed: Sequence[HoleGroup], width_mm: float) -> Band:
    """The facts in lines of at most `width_mm`."""
    kg, pierces = flat.mass_kg, flat.pierces

    def fact(text: str, shows: str, weight: Weight = Weight.PLAIN, colour: Colour = INK) -> Band:
        return paragraph(text, width_mm, weight, colour, shows, _TEXT_MM, 0.0)

    facts = [
        fact(f"mass {plain(kg, 3)} kg ({plain(kg / KG_PER_LB, 2)} lb)", "mass", Weight.BOLD),
        fact(f"cut {plain(flat.cut_length_mm, 0)} mm, {pierces} pierce{'s' * (pierces != 1)}", "cut", Weight.BOLD),
    ]
    for number, strip in numbered_strips(flat):
        facts.append(fact(bend_line(number, strip), f"bend {number}", colour=WAY_LINE[strip.bend.way]))
    return stacked([*facts, *(fact(line, "holes") for line in _packed([g.text for g in listed], width_mm))])


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


# -- the view of the flat with everything that is written on it

_LINES: Final = FlatLines(
    outline=LineType(0.75),
    hole=LineType(0.5),
    tangent=LineType(0.22),
    bend=LineType(0.5),
    mark=LineType(0.35, (1.2, 0.8), FAINT),
    pilot=LineType(0.22, (0.8, 0.6)),
)
#: Nothing is drawn larger than this many times its size.
_MOST_SCALE: Final = 5.0
#: A flat is turned a quarter only when that makes it this much larger.
_WORTH_TURNING: Final = 1.2
_CALLOUT_MM: Final = 3.8
_LETTER_MM: Final = 3.3
#: Where along a bend's line its label is tried.
_ALONG: Final = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9)
#: More groups than this are listed beside the view instead of called out on it.
_MOST_CALLED_OUT: Final = 9
#: Paper kept free around the flat for labels, tried from the least to the most.
_RINGS_MM: Final = (7.0, 12.0, 18.0, 26.0, 34.0)


def _in_list(flat: Flat) -> bool:
    """Whether the sizes of holes stand in a list, by letter, because beside so many holes they are hard to read."""
    return len(hole_groups(flat)) > _MOST_CALLED_OUT


def best_map(flat: Flat, area: Box, ring_mm: float) -> PaperMap:
    """How the flat fills `area` with `ring_mm` free around it and its overall sizes on the left and below."""
    return sized_map(flat, area, ring_mm, _scale, _WORTH_TURNING)


def _scale(wide: float, high: float, room: tuple[float, float]) -> float:
    return min(_MOST_SCALE, *(r / s for r, s in zip(room, (wide, high), strict=True) if s > 0.0))


def view_area(box: Box) -> Box:
    """The part of the view's box between its heading and the legend."""
    return (box[0], box[1] + LEGEND_MM + 1.0, box[2], box[3] - VIEW_TITLE_MM)


def flat_view(flat: Flat, findings: Sequence[Numbered], box: Box) -> tuple[list[Mark], list[HoleGroup]]:
    """The flat drawn as large as its labels allow inside `box`, and the groups of holes left for the list.

    When the least scale still leaves no room for a label, hole sizes go to the list, and what then finds no room is
    left to the lists of facts and findings, which name everything.
    """
    tries = [(ring, in_list) for in_list in (_in_list(flat), True) for ring in _RINGS_MM]
    for ring, in_list in tries:
        groups = hole_groups(flat, 1 if in_list else 2)
        marks, missing = _attempt(flat, findings, box, ring, groups, in_list)
        if not missing:
            break
    return marks, groups if in_list else []


def _attempt(
    flat: Flat, findings: Sequence[Numbered], box: Box, ring_mm: float, groups: Sequence[HoleGroup], in_list: bool
) -> tuple[list[Mark], int]:
    """The view with one width of free ring, and how many labels found no room; they are placed the pickiest first."""
    area = view_area(box)
    to_paper = best_map(flat, area, ring_mm)
    room = FreeRoom(area)
    lines = _LINES.drawn(flat, to_paper)
    ink_flat(room, flat, to_paper, lines)
    sizes = overall_sizes(flat, to_paper, area)
    take_marks(room, sizes)
    places = {e.number: to_paper.point(Point(*e.finding.at_mm)) for e in findings if e.finding.at_mm is not None}
    for at in places.values():
        take_place(room, at)
    found = _letters(room, groups, to_paper)
    for entry in findings:
        if entry.number in places:
            found.append(placed_marker(room, entry.number, entry.finding, places[entry.number]))
    callouts = [] if in_list else [_group_callout(g, to_paper) for g in groups]
    callouts += bend_callouts(flat, to_paper, _CALLOUT_MM, _ALONG)
    callouts += weld_callouts(flat, to_paper, _CALLOUT_MM)
    found += [place_callout(room, c) for c in callouts]
    turned = "" if to_paper.level else " (view turned a quarter)"
    words = f"FLAT, this face up: described face{turned}"
    head = view_title(words, box, "face up")
    strip = legend(flat, to_paper, (box[0], box[1], box[2], box[1] + LEGEND_MM))
    placed = [m for marks in found if marks for m in marks]
    cuts = (flat.outline, *flat.openings, *(h.cut for h in flat.holes))
    tints: list[Mark] = [Fill(tuple(map(to_paper.ring, cuts)), DESCRIBED_FACE, "metal")]
    tints += [Fill((to_paper.ring(s.outline()),), WAY_TINT[s.bend.way], f"bend {n}") for n, s in numbered_strips(flat)]
    return [*tints, *lines, head, *sizes, *placed, *strip], sum(marks is None for marks in found)


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


def _group_callout(group: HoleGroup, to_paper: PaperMap) -> Callout:
    targets: list[Target] = []
    for flat_hole in group.holes:
        x0, y0, x1, y1 = to_paper.box(flat_hole.cut.bounds())
        edge = to_paper.ring(flat_hole.cut)
        targets.append(Target(to_paper.point(flat_hole.stated_at), min(x1 - x0, y1 - y0) / 2, edge))
    away = min(t.radius_mm for t in targets) + 4.0
    return Callout(group.text, tuple(targets), _CALLOUT_MM, group.shows, away_mm=away)
