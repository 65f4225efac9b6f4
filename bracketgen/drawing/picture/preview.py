"""The whole preview sheet: where the views, the facts and the findings go, and the column of facts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from bracketgen.bending.flat import Flat
from bracketgen.bending.fold import Folded
from bracketgen.drawing.marks.bend_words import bend_line, numbered_strips
from bracketgen.drawing.marks.hole_groups import HoleGroup, hole_groups
from bracketgen.drawing.marks.plain_numbers import plain
from bracketgen.drawing.paper.lettering import LEADING, Weight, text_width_mm, wrapped
from bracketgen.drawing.paper.palette import HAIR, INK, WAY_LINE, Colour
from bracketgen.drawing.picture.findings_list import Numbered, TextBlock, findings_block, numbered, small_print
from bracketgen.drawing.picture.flat_view import Naming, best_map, flat_view, naming, view_area
from bracketgen.drawing.picture.folded_view import folded_view
from bracketgen.drawing.picture.header import KG_PER_LB, header
from bracketgen.drawing.sheet import Label, Mark, Sheet, Stroke
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
