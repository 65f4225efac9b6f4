"""The shop drawing: the flat from two datum edges, the folded part, tables, tolerances, cautions; level pages."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from bracketgen.bending.flat import Flat
from bracketgen.bending.fold import Folded
from bracketgen.drawing.columns import TEXT_MM, Band, caution_bands, heading, paragraph, pour, table_bands
from bracketgen.drawing.marks.lettering import Weight, one_line
from bracketgen.drawing.picture.head_and_foot import finding_text, numbered
from bracketgen.drawing.sheet import FAIL, INK, Label, LineType, Mark, Paper, Sheet
from bracketgen.drawing.workshop.page import (
    BENDING,
    BETWEEN_MM,
    CENTRE,
    HIDDEN,
    NARROW,
    VISIBLE,
    TitleBlock,
    columns_of,
    content_box,
    workshop_pages,
)
from bracketgen.drawing.workshop.tables import (
    CLASS_WORDS,
    LEG_WORDS,
    angle_table,
    bend_table,
    cut_table,
    formula_words,
    general_table,
    hole_table,
    leg_table,
    named_holes,
    order_words,
    with_hole_names,
)
from bracketgen.drawing.workshop.views import ScaledView, flat_drawing, folded_drawing
from bracketgen.findings import Finding, Level
from bracketgen.geometry.plane import Point
from bracketgen.shop.hardware import Mate, hardware_lines
from bracketgen.standards.cautions import caution

_FLAT_PENS: Final = (VISIBLE, CENTRE, NARROW)
_ALL_PENS: Final = (VISIBLE, HIDDEN, CENTRE, BENDING, NARROW)


def shop_drawing(
    flat: Flat, folded: Folded, findings: Sequence[Finding], paper: Paper = Paper.A4, quantity: int = 1,
    mates: Mapping[str, Mate] | None = None, site_mark: str = "", order: Sequence[int] = (),
) -> tuple[Sheet, ...]:  # fmt: skip
    """Pages of the flat with its holes, of the folded part (when it has bends), then of tables and words.

    `mates` says by hole id what it is bolted to at the site of `site_mark`, for the list of bolts; `order` in which
    order the bends can be made, by their numbers (none: no order is proven).
    Views are drawn to a standard scale that the title block names. Raises ValueError for a quantity below 1.
    """
    block = TitleBlock(flat, tuple(findings), paper, quantity, CLASS_WORDS, site_mark)
    box = content_box(block)
    columns = columns_of(box)
    column = columns[-1]
    drawn = flat_drawing(flat, (box[0], box[1], column[0] - BETWEEN_MM, box[3]))
    width = column[2] - column[0]
    folded_ = folded_drawing(folded, box) if flat.strips else None
    said = hardware_lines(flat.part, quantity, mates)
    cautions = [*(one_line(c) for c in flat.part.cautions), caution("drawing")]
    bands = [
        *caution_bands(cautions, width),
        *table_bands(hole_table(flat), width),
        *_words(block, drawn, folded_, width, said, order),
    ]
    marks, left = pour(bands, [column])
    views: list[tuple[str, str, Sequence[Mark]]] = [("FLAT, described face up", drawn.scale, [*drawn.marks, *marks])]
    if folded_ is not None:
        views.append(("FOLDED", folded_.scale, folded_.marks))
    return workshop_pages(block, views, "TABLES AND NOTES", left)


def _words(
    block: TitleBlock,
    drawn: ScaledView,
    folded: ScaledView | None,
    width: float,
    hardware: Sequence[str],
    order: Sequence[int],
) -> list[Band]:
    """Everything below the table of holes, in the order of its weight."""
    flat = block.flat
    bands: list[Band] = []
    if drawn.left_out:
        bands.append(paragraph(f"No room on the view for: {', '.join(drawn.left_out)}.", width))
    bands.append(paragraph(_DATUM_WORDS, width))
    if flat.strips:
        bands += table_bands(bend_table(flat), width)
        if said := order_words(flat, order):
            bands.append(paragraph(said, width, Weight.BOLD))
        bands += [paragraph(text, width) for text in (*_BEND_WORDS, *formula_words(flat))]
        bands += [*table_bands(leg_table(flat), width), paragraph(LEG_WORDS, width)]
    bands += _findings(block, width)
    if hardware:
        of = f"{block.quantity} part{'s' * (block.quantity != 1)}"
        bands += [heading(f"Hardware for {of}", width), *(paragraph(t, width, shows="hardware") for t in hardware)]
    bands += _tolerances(flat, folded, width)
    return [*bands, *_line_key(_ALL_PENS if flat.strips else _FLAT_PENS, width)]


_DATUM_WORDS: Final = (
    "x and y count from the two datum edges: the lines that touch the flat's left and lower side as the arrows show. "
    "Sizes are nominal, without kerf; the cut file is the exact shape."
)
_BEND_WORDS: Final = (
    "Turn counts from flat; UP comes toward you with the described face up. R in: inside radius; allow.: metal between "
    "the two tangent lines; ded.: deduction, off the sum of two outside sizes. Check order and tools before bending.",
)


def _findings(block: TitleBlock, width: float) -> list[Band]:
    """What the rules say, failures and waivers with their reasons first."""
    if not block.findings:
        return [heading("Findings", width), paragraph("Every rule was tried, none objects.", width)]
    bands = [heading("Findings", width)]
    for entry in numbered(with_hole_names(block.findings, named_holes(block.flat))):
        f = entry.finding
        bad = f.level is Level.FAIL and f.waived is None
        bold = Weight.BOLD if bad or f.waived is not None else Weight.PLAIN
        bands.append(paragraph(finding_text(f), width, bold, FAIL if bad else INK, "finding"))
    return bands


def _tolerances(flat: Flat, folded: ScaledView | None, width: float) -> list[Band]:
    x0, y0, x1, y1 = flat.bounds_mm
    own = named_holes(flat)
    places = [abs(v) for n in own for v in n.at]
    holes = [bore for n in own if (bore := n.hole.hole.shape.bore_mm) is not None]
    cut = [x1 - x0, y1 - y0, *places, *holes]
    bands = table_bands(cut_table(flat, cut), width)
    if folded is not None:
        bent = [*folded.sizes_mm, *(s.bend.inside_radius_mm for s in flat.strips)]
        bands += table_bands(general_table(bent), width)
        bands += table_bands(angle_table(_shorter_legs(flat)), width)
    else:
        bands.append(paragraph(f"All sizes of this flat part are cut; others, unless stated, to {CLASS_WORDS}.", width))
    return bands


def _shorter_legs(flat: Flat) -> list[float]:
    """For each bend the smaller reach of its two panels square to it, mm."""
    made: list[float] = []
    for strip in flat.strips:
        reaches = []
        for panel_id in (strip.bend.parent, strip.bend.child):
            outline = flat.part.panel(panel_id).outline.moved(flat.placements[panel_id])
            _, low, _, high = outline.moved(strip.placement.inverse()).bounds()
            reaches.append(high - low)
        made.append(min(reaches))
    return made


def _line_key(pens: Sequence[LineType], width: float) -> list[Band]:
    """What the kinds of lines mean."""
    bands = [heading("Lines (ISO 128, from memory)", width)]
    step = TEXT_MM * 1.6
    for pen in pens:
        line = pen.line((Point(0.0, -step / 2), Point(20.0, -step / 2)), "line key")
        words = Label(pen.words, Point(23.0, -step / 2 - 0.9), TEXT_MM, INK, shows="line key")
        bands.append(Band(step, (line, words)))
    return bands
