"""The whole preview sheet: where the views, the facts and the findings go."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from bracketgen.bending.flat import Flat
from bracketgen.bending.fold import Folded
from bracketgen.drawing.marks.hole_groups import hole_groups
from bracketgen.drawing.paper.palette import HAIR, INK
from bracketgen.drawing.picture.facts import facts_block
from bracketgen.drawing.picture.findings_list import Numbered, findings_block, numbered, small_print
from bracketgen.drawing.picture.flat_view import Naming, best_map, flat_view, naming, view_area
from bracketgen.drawing.picture.folded_view import folded_view
from bracketgen.drawing.picture.header import header
from bracketgen.drawing.sheet import Mark, Sheet, Stroke
from bracketgen.findings import Finding
from bracketgen.geometry.line import Box
from bracketgen.geometry.point import Point

#: A4 landscape, ISO 216.
WIDTH_MM: Final = 297.0
HEIGHT_MM: Final = 210.0
_EDGE_MM: Final = 8.0
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


@dataclass(frozen=True, slots=True)
class _Places:
    """Where the three upper blocks go."""

    flat: Box
    folded: Box
    facts: Box


def preview(flat: Flat, folded: Folded, findings: Sequence[Finding]) -> Sheet:
    """One page that shows the flat, the folded part, and what the rules found, for the workshop."""
    edge = (_EDGE_MM, _EDGE_MM, WIDTH_MM - _EDGE_MM, HEIGHT_MM - _EDGE_MM)
    marks, y = header(flat, findings, edge)
    low, bottom, listed = _bottom(flat, findings, edge)
    upper = (edge[0], low + 3.0, edge[2], y - 1.0)
    where = _places(flat, upper)
    view = flat_view(flat, listed, where.flat, naming(flat))
    facts = facts_block(flat, view.listed, where.facts[2] - where.facts[0])
    marks += view.marks
    marks += folded_view(folded, where.folded)
    marks += facts.at(Point(where.facts[0], where.facts[3]))
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
    gains = [best_map(flat, view_area(p.flat), 12.0).scale for p in (beside, stacked)]
    return stacked if gains[1] > _WORTH_STACKING * gains[0] else beside


def _beside(flat: Flat, upper: Box) -> _Places:
    x0, y0, x1, y1 = upper
    column = x1 - _COLUMN_MM
    listed = hole_groups(flat, 1) if naming(flat) is Naming.IN_LIST else []
    facts = facts_block(flat, listed, _COLUMN_MM).height_mm
    split = y0 + facts + 2.0
    return _Places((x0, y0, column - _BETWEEN_MM, y1), (column, split, x1, y1), (column, y0, x1, split - 2.0))


def _stacked(flat: Flat, upper: Box) -> _Places:
    x0, y0, x1, y1 = upper
    widest = (x0, y0 + _ROW_MM, x1, y1)
    x_least, y_least, x_most, y_most = best_map(flat, view_area(widest), 12.0).box(flat.bounds_mm)
    needed = min(y_most - y_least, x_most - x_least) + _AROUND_MM
    split = max(y0 + _ROW_MM, y1 - needed)
    column = x1 - _COLUMN_MM
    return _Places((x0, split + 1.0, x1, y1), (x0, y0, column - _BETWEEN_MM, split), (column, y0, x1, split))


def _frame(box: Box) -> Mark:
    x0, y0, x1, y1 = box
    corners = (Point(x0, y0), Point(x1, y0), Point(x1, y1), Point(x0, y1), Point(x0, y0))
    return Stroke(corners, 0.5, INK)
