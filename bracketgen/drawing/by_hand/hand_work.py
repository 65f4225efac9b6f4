"""The hand-work sheet: tables to mark out from and the order of work in pictures, for a person with hand tools."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from enum import Enum
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
    outline_runs,
)
from bracketgen.drawing.by_hand.steps import Step, steps, tools
from bracketgen.drawing.columns import Band, heading, moved, paragraph, pour, table_bands
from bracketgen.drawing.marks.bend_words import numbered_strips
from bracketgen.drawing.marks.plain_numbers import plain
from bracketgen.drawing.paper.lettering import Weight, one_line
from bracketgen.drawing.paper.palette import DESCRIBED_FACE, FAINT, HAIR, INK, WAY_LINE, WAY_TINT, WHITE
from bracketgen.drawing.paper.trace import PaperMap, arrow_head, closed, disc_points, fitted_map
from bracketgen.drawing.picture.folded_view import folded_view
from bracketgen.drawing.picture.head_and_foot import finding_text, numbered
from bracketgen.drawing.sheet import Fill, Label, Mark, Sheet, Stroke
from bracketgen.drawing.workshop.flat_drawing import flat_drawing
from bracketgen.drawing.workshop.page import (
    BETWEEN_MM,
    Drawing,
    PageName,
    Paper,
    columns_of,
    content_box,
    page_frame,
)
from bracketgen.drawing.workshop.tables import named_holes, with_hole_names
from bracketgen.findings import Finding, Level
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point, midpoint

__all__ = ["Paper", "hand_work"]

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
    drawing = Drawing(flat, tuple(findings), paper, quantity, f"scribed to {plain(STEP_MM)} mm")
    box = content_box(drawing)
    columns = columns_of(box)
    width = columns[-1][2] - columns[-1][0]
    corners = tuple(run.start for run in outline_runs(flat))
    drawn = flat_drawing(flat, (box[0], box[1], columns[-1][0] - BETWEEN_MM, box[3]), corners)
    holes = drillings(named_holes(flat), findings)
    unnamed = [paragraph(f"No room on the view for: {', '.join(drawn.left_out)}.", width)] if drawn.left_out else []
    marks, left = pour([*unnamed, *_marking(flat, holes, width), *_safety(drawing, holes, width)], [columns[-1]])
    left += _step_bands(flat, folded, steps(flat, holes), width)
    pages = [("MARK OUT BY HAND, described face up", drawn.scale_words, [*drawn.marks, *marks])]
    while left:
        marks, left = pour(left, columns)
        pages.append(("ORDER OF WORK BY HAND", "none", marks))
    made = []
    for i, (words, scale, content) in enumerate(pages, 1):
        frame = page_frame(drawing, PageName(words, i, len(pages), scale))
        made.append(Sheet(*paper.value, (*frame, *content), WHITE))
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


def _safety(drawing: Drawing, holes: Sequence[Drilling], width: float) -> list[Band]:
    """Cautions, tools, and what the rules say against the part."""
    flat = drawing.flat
    bands = [heading("Cautions", width)]
    bands += [paragraph(t, width, shows="caution") for t in (*map(one_line, flat.part.cautions), *_CAUTIONS)]
    named = with_hole_names(drawing.findings, [h.named for h in holes])
    serious = [e.finding for e in numbered(named) if e.finding.level is not Level.NOTE]
    if serious:
        bands.append(heading("Findings", width))
        bands += [paragraph(finding_text(f), width, Weight.BOLD, shows="finding") for f in serious]
    return [*bands, heading("Tools", width), *(paragraph(f"{t}.", width, shows="tool") for t in tools(flat, holes))]


def _step_bands(flat: Flat, folded: Folded, work: Sequence[Step], width: float) -> list[Band]:
    """One band a step: its picture on the left, its words on the right."""
    # The heading goes with the first step, whose height is not known yet.
    bands = [replace(heading("Steps", width), needs_mm=50.0)]
    wide, high = _PICTURE_MM
    for number, step in enumerate(work, 1):
        box = (1.0, -high + 1.0, wide - 3.0, -1.0)
        shown = _folded_picture(folded, box) if step.picture is None else picture_marks(flat, step.picture, box)
        words = [paragraph(f"{number}  {step.title}", width - wide, Weight.BOLD, shows="step")]
        words.append(paragraph(step.text, width - wide, shows="step words"))
        marks: list[Mark] = list(shown)
        y = -1.0
        for band in words:
            marks += [moved(m, Point(wide, y)) for m in band.marks]
            y -= band.height_mm
        bands.append(Band(max(high, -y) + 2.5, tuple(marks)))
    return bands


def _folded_picture(folded: Folded, box: Box) -> list[Mark]:
    """The folded part without its labels, which would be too many for a small picture."""
    around = (box[0] - _LABEL_MM, box[1] - _LABEL_MM, box[2] + _LABEL_MM, box[3] + 2 * _LABEL_MM)
    named = ("folded bend", "face up")
    return [m for m in folded_view(folded, around) if not isinstance(m, Label) and not m.shows.startswith(named)]


# Small pictures of a step of the work: the flat with what the step is about drawn strong.


_MOST_SCALE: Final = 2.0
#: Room around the flat for the arrow of a bend, which is a little longer.
_AIR_MM: Final = 4.0
_ARROW_MM: Final = 4.5


class Show(Enum):
    """What a picture is about."""

    LINES = "scribed lines"
    HOLES = "holes"
    OUTLINE = "the outline"
    BEND = "one bend"


@dataclass(frozen=True, slots=True)
class Picture:
    """What is shown; `holes` are the ids drawn strong, `bend` the number of a bend."""

    show: Show
    holes: Collection[str] = ()
    bend: int = 0


def picture_marks(flat: Flat, picture: Picture, box: Box) -> list[Mark]:
    """The picture inside `box`; not to scale."""
    inner = (box[0] + _AIR_MM, box[1] + _AIR_MM, box[2] - _AIR_MM, box[3] - _AIR_MM)
    level, turned = (fitted_map(flat.bounds_mm, inner, _MOST_SCALE, turn) for turn in (0.0, 90.0))
    to_paper = turned if turned.scale > 1.5 * level.scale else level
    outer = to_paper.ring(flat.outline)
    rings = [(h.hole.id, to_paper.ring(h.cut)) for h in flat.holes]
    strong = picture.show is Show.OUTLINE
    marks: list[Mark] = [Fill((outer,), DESCRIBED_FACE, "metal")]
    marks += _bends(flat, picture, to_paper)
    for name, ring in rings:
        if picture.show is Show.HOLES and name in picture.holes:
            marks += [Fill((ring,), INK, f"drilled {name}"), Stroke(closed(ring), 0.3)]
        else:
            marks.append(Stroke(closed(ring), 0.2, FAINT))
    marks.append(Stroke(closed(outer), 0.8 if strong else 0.25, INK if strong else FAINT))
    return [*marks, *(_lines(flat, to_paper) if picture.show is Show.LINES else ())]


def _bends(flat: Flat, picture: Picture, to_paper: PaperMap) -> list[Mark]:
    marks: list[Mark] = []
    for number, strip in numbered_strips(flat):
        way = strip.bend.way
        ends = (to_paper.point(strip.centre_line.start), to_paper.point(strip.centre_line.end))
        if picture.show is Show.BEND and number == picture.bend:
            marks.append(Fill((to_paper.ring(strip.outline()),), WAY_TINT[way], f"bend {number}"))
            marks.append(Stroke(ends, 0.7, WAY_LINE[way], shows=f"bend {number}"))
            middle, across = midpoint(*ends), ends[1].minus(ends[0]).unit().left()
            tip = middle.plus(across, _ARROW_MM)
            marks += [Stroke((middle, tip), 0.5, WAY_LINE[way]), Fill((arrow_head(tip, across, 2.2),), WAY_LINE[way])]
        else:
            marks.append(Stroke(ends, 0.2, HAIR if picture.show is not Show.LINES else INK))
    return marks


def _lines(flat: Flat, to_paper: PaperMap) -> list[Mark]:
    """Scribed lines from both datum edges through every hole's centre, and a dot at each punch."""
    x0, y0, x1, y1 = flat.bounds_mm
    marks: list[Mark] = []
    for hole in flat.holes:
        c = hole.centre
        for a, b in ((Point(x0, c.y), c), (Point(c.x, y0), c)):
            marks.append(Stroke((to_paper.point(a), to_paper.point(b)), 0.18, INK))
        marks.append(Fill((disc_points(to_paper.point(c), 0.6),), INK, "punch"))
    for a, b in ((Point(x0, y0), Point(x1, y0)), (Point(x0, y0), Point(x0, y1))):
        marks.append(Stroke((to_paper.point(a), to_paper.point(b)), 0.7, INK, shows="datum edge"))
    return marks
