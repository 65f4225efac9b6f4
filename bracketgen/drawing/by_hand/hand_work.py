"""The hand-work sheet: tables to mark out from and the order of work in pictures, for a person with hand tools."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from bracketgen.bending.flat import Flat
from bracketgen.bending.fold import Folded
from bracketgen.drawing.by_hand.marking_out import (
    STEP_MM,
    Drilling,
    bend_rows,
    drillings,
    hole_rows,
    outline_rows,
    outline_stretches,
)
from bracketgen.drawing.by_hand.steps import WorkStep, picture_marks, steps, tools
from bracketgen.drawing.columns import Band, heading, paragraph, pour, stacked, table_bands
from bracketgen.drawing.marks.lettering import Weight, one_line
from bracketgen.drawing.paper_size import Paper
from bracketgen.drawing.picture.folded_view import folded_view
from bracketgen.drawing.picture.head_and_foot import finding_text, numbered
from bracketgen.drawing.sheet import WHITE, Label, Mark, Sheet
from bracketgen.drawing.workshop.flat_drawing import flat_drawing
from bracketgen.drawing.workshop.page import BETWEEN_MM, PageName, TitleBlock, columns_of, content_box, page_frame
from bracketgen.drawing.workshop.tables import named_holes, with_hole_names
from bracketgen.findings import Finding, Level
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point
from bracketgen.units import plain

_PICTURE_MM: Final = (34.0, 27.0)
#: What a view of the folded part keeps free for labels on each side, and again for its title.
_LABEL_MM: Final = 7.0
_ROUNDED: Final = (
    "x and y count from the two datum edges. Lengths are rounded to 0.5 mm, exact value in brackets. Rounding moves a "
    "hole by up to 0.35 mm: where the fit is close, use the exact value with a height gauge. Drill steps are common "
    "practice, no source."
)
_CAUTIONS: Final = (
    "Eyes: safety glasses for punching, drilling, filing. Loose sleeves, hair and gloves stay away from the drill.",
    "Clamp the work: a sheet that catches on a drill spins like a blade. Edges and swarf cut.",
    "No drilling, grinding or other hot work on the vehicle near fuel, battery or lines; disconnect and drain first.",
    "A hand-made part is no stronger than its worst bend: have load-carrying parts judged by a person who is "
    "qualified, and follow local codes.",
)
_ORDER: Final = (
    "Bends in the order described. Check on a strip or a card that each can still be clamped when its turn comes."
)


def hand_work(
    flat: Flat, folded: Folded, findings: Sequence[Finding], paper: Paper = Paper.A4, quantity: int = 1
) -> tuple[Sheet, ...]:
    """A page to mark out from, then the steps. Raises ValueError for a quantity below 1."""
    if quantity < 1:
        raise ValueError("a sheet is for one part at least")
    block = TitleBlock(flat, tuple(findings), paper, quantity, f"scribed to {plain(STEP_MM)} mm")
    box = content_box(block)
    columns = columns_of(box)
    width = columns[-1][2] - columns[-1][0]
    corners = tuple(run.start for run in outline_stretches(flat))
    drawn = flat_drawing(flat, (box[0], box[1], columns[-1][0] - BETWEEN_MM, box[3]), corners)
    holes = drillings(named_holes(flat), findings)
    unnamed = [paragraph(f"No room on the view for: {', '.join(drawn.left_out)}.", width)] if drawn.left_out else []
    marks, left = pour([*unnamed, *_marking(flat, holes, width), *_safety(block, holes, width)], [columns[-1]])
    left += _step_bands(flat, folded, steps(flat, holes), width)
    pages = [("MARK OUT BY HAND, described face up", drawn.scale_words, [*drawn.marks, *marks])]
    while left:
        marks, left = pour(left, columns)
        pages.append(("ORDER OF WORK BY HAND", "none", marks))
    made = []
    for i, (words, scale, content) in enumerate(pages, 1):
        frame = page_frame(block, PageName(words, i, len(pages), scale))
        made.append(Sheet(*paper.level, (*frame, *content), WHITE))
    return tuple(made)


def _marking(flat: Flat, holes: Sequence[Drilling], width: float) -> list[Band]:
    """The tables of punch marks, bend lines and outline."""
    bands = table_bands(hole_rows(holes), width) if holes else []
    if holes and flat.strips:
        late = any(h.after_bending for h in holes)
        bands.append(paragraph(f"{'All others' if late else 'All holes'} are drilled before bending.", width))
    bands.append(paragraph(_ROUNDED, width))
    if flat.strips:
        bands += [*table_bands(bend_rows(flat), width), paragraph(_ORDER, width)]
    return [*bands, *table_bands(outline_rows(flat), width)]


def _safety(block: TitleBlock, holes: Sequence[Drilling], width: float) -> list[Band]:
    """Cautions, tools, and what the rules say against the part."""
    flat = block.flat
    bands = [heading("Cautions", width)]
    bands += [paragraph(t, width, shows="caution") for t in (*map(one_line, flat.part.cautions), *_CAUTIONS)]
    named = with_hole_names(block.findings, [h.named for h in holes])
    serious = [e.finding for e in numbered(named) if e.finding.level is not Level.NOTE]
    if serious:
        bands.append(heading("Findings", width))
        bands += [paragraph(finding_text(f), width, Weight.BOLD, shows="finding") for f in serious]
    return [*bands, heading("Tools", width), *(paragraph(f"{t}.", width, shows="tool") for t in tools(flat, holes))]


def _step_bands(flat: Flat, folded: Folded, work: Sequence[WorkStep], width: float) -> list[Band]:
    """One band a step: its picture on the left, its words on the right."""
    # The heading goes with the first step, whose height is not known yet.
    bands = [replace(heading("Steps", width), needs_mm=50.0)]
    wide, high = _PICTURE_MM
    for number, step in enumerate(work, 1):
        box = (1.0, -high + 1.0, wide - 3.0, -1.0)
        shown = _folded_picture(folded, box) if step.picture is None else picture_marks(flat, step.picture, box)
        title = paragraph(f"{number}  {step.title}", width - wide, Weight.BOLD, shows="step")
        words = stacked((title, paragraph(step.text, width - wide, shows="step words")))
        marks = (*shown, *words.at(Point(wide, -1.0)))
        bands.append(Band(max(high, words.height_mm + 1.0) + 2.5, marks))
    return bands


def _folded_picture(folded: Folded, box: Box) -> list[Mark]:
    """The folded part without its labels, which would be too many for a small picture."""
    around = (box[0] - _LABEL_MM, box[1] - _LABEL_MM, box[2] + _LABEL_MM, box[3] + 2 * _LABEL_MM)
    named = ("folded bend", "face up")
    return [m for m in folded_view(folded, around) if not isinstance(m, Label) and not m.shows.startswith(named)]
