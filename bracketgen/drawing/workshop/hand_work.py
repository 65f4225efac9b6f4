"""The hand-work sheet: tables to mark out from and the order of work in pictures, for a person with hand tools.

The order of work is common practice, no source, unless a figure says otherwise.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final

from bracketgen.bending.flat import Flat
from bracketgen.bending.fold import Folded
from bracketgen.drawing.columns import Band, caution_bands, heading, paragraph, pour, stacked, table_bands
from bracketgen.drawing.marks.flat_lines import FlatLines, PaperMap, fitted_map
from bracketgen.drawing.marks.lettering import Weight, one_line
from bracketgen.drawing.marks.words import numbered_strips
from bracketgen.drawing.picture.folded_view import folded_view
from bracketgen.drawing.picture.head_and_foot import finding_text, numbered
from bracketgen.drawing.sheet import (
    DESCRIBED_FACE,
    FAINT,
    HAIR,
    INK,
    WAY_LINE,
    WAY_TINT,
    Fill,
    Label,
    LineType,
    Mark,
    Paper,
    Sheet,
    Stroke,
    arrow,
    closed,
    disc_points,
    padded,
)
from bracketgen.drawing.workshop.marking_out import (
    LARGEST_DRILL_MM,
    STEP_MM,
    Drilling,
    bend_rows,
    drillings,
    hole_rows,
    outline_rows,
    outline_stretches,
)
from bracketgen.drawing.workshop.page import (
    BETWEEN_MM,
    TitleBlock,
    columns_of,
    content_box,
    workshop_pages,
)
from bracketgen.drawing.workshop.tables import named_holes, order_words, with_hole_names
from bracketgen.drawing.workshop.views import flat_drawing
from bracketgen.findings import Finding, Level
from bracketgen.geometry.edge import Arc, Box
from bracketgen.geometry.plane import Point, midpoint
from bracketgen.part.hole import Purpose
from bracketgen.standards.cautions import caution
from bracketgen.units import inches, plain


@dataclass(frozen=True, slots=True)
class Picture:
    """What of the flat is drawn strong: its outline, lines to scribe, holes by their ids, a bend by its number."""

    outline: bool = False
    lines: bool = False
    holes: Collection[str] = ()
    bend: int = 0


@dataclass(frozen=True, slots=True)
class WorkStep:
    """One step: what it is called, what is done, and its picture; None shows the folded part."""

    title: str
    text: str
    picture: Picture | None


def steps(flat: Flat, holes: Sequence[Drilling], order: Sequence[int] = ()) -> list[WorkStep]:
    """From the sheet to the finished part, its bends in this order by their numbers; none = as described."""
    early = [h for h in holes if not h.after_bending]
    late = [h for h in holes if h.after_bending]
    made = [_sheet(flat), _mark_out(flat, late), *_drill(early, "Drill")]
    made += [_cut(flat), _deburr(flat), *_bends(flat, order), *_drill(late, "Drill what comes after bending")]
    return [*made, _check(flat)]


def _sheet(flat: Flat) -> WorkStep:
    x0, y0, x1, y1 = flat.bounds_mm
    wide, high = x1 - x0, y1 - y0
    stock = flat.part.stock
    grain = "" if stock.grain_deg is None or not flat.strips else (
        " Mind the rolling direction: it runs along the double arrow of the shop drawing."
    )  # fmt: skip
    text = (
        f"{stock.metal.id}, {plain(stock.thickness_mm, 3)} mm. The flat is {plain(wide)} × {plain(high)} mm "
        f"({inches(wide)} × {inches(high)} in). Take a piece 10 mm larger each way, file two edges straight and square "
        f"to each other: they are the datum edges.{grain}"
    )
    return WorkStep("Square up the sheet", text, Picture(outline=True))


def _mark_out(flat: Flat, late: Sequence[Drilling]) -> WorkStep:
    after = f" {_names(late)}: punch after bending, when the leg stands." if late else ""
    bends = " Draw bend lines with a soft pencil or marker: a scratch can start a crack." if flat.strips else ""
    text = (
        "Coat with layout dye. Scribe x and y of every punch mark from the two datum edges with rule and square; the "
        f"tables give each length to {plain(STEP_MM)} mm with the exact one in brackets. Measure once more between "
        f"holes, then centre-punch.{bends}{after}"
    )
    return WorkStep("Mark out and centre-punch", text, Picture(lines=True))


def _drill(holes: Sequence[Drilling], title: str) -> list[WorkStep]:
    if not holes:
        return []
    text = (
        f"{_names(holes)}: pilot 3 mm, then the drills of the table in order, slow and with cutting oil for the large "
        "ones. Clamp the sheet on wood, never hold it by hand."
    )
    threads = [h for h in holes if h.named.hole.hole.purpose is Purpose.TAPPED]
    if threads:
        text += f" Tap {_names(threads)} square to the face, with oil, half a turn back for each turn."
    if title != "Drill":
        text += " Measure from the bent leg's own faces and back them with a block of wood."
    return [WorkStep(title, text, Picture(holes=frozenset(h.named.hole.hole.id for h in holes)))]


def _cut(flat: Flat) -> WorkStep:
    runs = outline_stretches(flat)
    arcs = [r.arc for r in runs if r.arc is not None]
    text = "Saw 1 mm outside the line, file to the line."
    if runs[0].all_round:
        text = f"Scribe the round of R {plain(arcs[0].radius)} mm with dividers. {text}"
        return WorkStep("Cut the outline", text, Picture(outline=True))
    corners = _radii(e for e in arcs if e.sweep_rad > 0.0)
    tight = _radii(e for e in arcs if e.sweep_rad < 0.0 and 2 * e.radius <= LARGEST_DRILL_MM)
    wide = _radii(e for e in arcs if e.sweep_rad < 0.0 and 2 * e.radius > LARGEST_DRILL_MM)
    if corners:
        text += f" Round the corners to R {corners} mm."
    if tight:
        text += f" Hollows of R {tight} mm: drill them on their centres first, then saw."
    if wide:
        text += f" Hollows of R {wide} mm: saw short of the line, then a half-round file."
    title = "Cut the outline, make the corner radii" if arcs else "Cut the outline"
    return WorkStep(title, text, Picture(outline=True))


def _radii(arcs: Iterable[Arc]) -> str:
    """Such as '3, 6.5', each once."""
    return ", ".join(plain(r) for r in sorted({round(a.radius, 2) for a in arcs}))


def _deburr(flat: Flat) -> WorkStep:
    bent = " Smooth the edges where a bend crosses them: a notch there starts a crack." if flat.strips else ""
    text = "Break all edges and both sides of every hole by about 0.3 mm; no burr may stay under a bolt head." + bent
    return WorkStep("Deburr", text, Picture(holes=frozenset(h.hole.id for h in flat.holes)))


def _bends(flat: Flat, order: Sequence[int]) -> list[WorkStep]:
    made: list[WorkStep] = []
    by_number = dict(numbered_strips(flat))
    for number in order or by_number:
        strip = by_number[number]
        bend, metal = strip.bend, strip.metal
        side = "toward you" if bend.way == "up" else "away from you"
        text = (
            f"Described face up, clamp '{bend.parent}' so that the bend's tangent line "
            f"({plain(metal.allowance_mm / 2)} mm from the bend line) lies where the round of the former begins. "
            f"Former with R {plain(bend.inside_radius_mm)} mm. Bend '{bend.child}' {side} by "
            f"{plain(bend.turn_deg)}° from flat ({plain(180 - bend.turn_deg)}° between the legs); go a little over, it "
            "springs back. Check with a protractor before the next bend."
        )
        made.append(WorkStep(f"Bend {number}, {bend.way.upper()}", text, Picture(bend=number)))
    return made


def _check(flat: Flat) -> WorkStep:
    bent = (
        "Check every turn with square or protractor, outside sizes against the shop drawing, and that the legs are not "
        "twisted. " if flat.strips else "Lay it on a flat plate: it must not rock. "
    )  # fmt: skip
    look = "Look for cracks on the outside of each bend: a cracked part is scrap. " if flat.strips else ""
    return WorkStep("Check", f"{bent}{look}Bolts must go through by hand. Protect the bare edges from rust.", None)


def _names(holes: Sequence[Drilling]) -> str:
    return ", ".join(h.named.name for h in holes)


#: The tool for what follows the drill.
_TOOL: Final = {"tap": "Tap and tap wrench", "ream": "Reamer", "rivet nut": "Rivet nut and its setting tool"}


def _split(then: str) -> tuple[str, str]:
    """What follows the drill, and its size with a blank before it: ('tap', ' M8')."""
    first = next((t for t in _TOOL if then.startswith(t)), then)
    return first, then.removeprefix(first)


def tools(flat: Flat, holes: Sequence[Drilling]) -> list[str]:
    """What has to lie ready."""
    drills = sorted({d for h in holes for d in h.drills_mm})
    said = [
        "Steel rule 0.5 mm, square, scriber, layout dye, dividers, centre punch, hammer",
        "Clamps, vice with soft jaws, block of wood" + (", drill and cutting oil" if drills else ""),
        "Hacksaw or snips for this thickness, flat and round files, deburring tool",
    ]
    if drills:
        said.append(f"Drills, mm: {', '.join(plain(d) for d in drills if d <= LARGEST_DRILL_MM)}")
    if drills and drills[-1] > LARGEST_DRILL_MM:
        said.append(f"Step drill or hole saw, to Ø{plain(drills[-1])}")
    said += sorted({_TOOL[first] + rest for h in holes for first, rest in [_split(h.then)] if first in _TOOL})
    if flat.strips:
        radii = ", ".join(plain(r) for r in sorted({s.bend.inside_radius_mm for s in flat.strips}))
        said.append(f"Folding bars or a former with edge radius {radii} mm, protractor")
    return [*said, "Safety glasses, gloves for handling sheet (not at the drill), ear defenders"]


# -- the small picture of a step

_MOST_SCALE: Final = 2.0
#: Room around the flat for the arrow of a bend, which is a little longer.
_AIR_MM: Final = 4.0
_ARROW_MM: Final = 4.5


def picture_marks(flat: Flat, picture: Picture, box: Box) -> list[Mark]:
    """The picture inside `box`; not to scale."""
    inner = padded(box, -_AIR_MM)
    level, turned = (fitted_map(flat.bounds_mm, inner, _MOST_SCALE, turn) for turn in (0.0, 90.0))
    to_paper = turned if turned.scale > 1.5 * level.scale else level
    lines = FlatLines(
        outline=LineType(0.8) if picture.outline else LineType(0.25, colour=FAINT),
        hole=LineType(0.2, colour=FAINT),
        bend=LineType(0.2, colour=INK if picture.lines else HAIR),
        by_way=False,
    )
    marks: list[Mark] = [Fill((to_paper.ring(flat.outline),), DESCRIBED_FACE, "metal"), *lines.drawn(flat, to_paper)]
    for number, strip in numbered_strips(flat):
        if number == picture.bend:
            way, shows = strip.bend.way, f"bend {number}"
            ends = to_paper.edge(strip.centre_line)
            marks.append(Fill((to_paper.ring(strip.outline()),), WAY_TINT[way], shows))
            marks.append(Stroke(ends, 0.7, WAY_LINE[way], shows=shows))
            middle, across = midpoint(*ends), ends[1].minus(ends[0]).unit().left()
            marks += arrow(middle, middle.plus(across, _ARROW_MM), 0.5, 2.2, WAY_LINE[way])
    for hole in flat.holes:
        if hole.hole.id in picture.holes:
            ring = to_paper.ring(hole.cut)
            marks += [Fill((ring,), INK, f"drilled {hole.hole.id}"), Stroke(closed(ring), 0.3)]
    return [*marks, *(_scribed(flat, to_paper) if picture.lines else ())]


def _scribed(flat: Flat, to_paper: PaperMap) -> list[Mark]:
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


# -- the pages


_PICTURE_MM: Final = (34.0, 27.0)
#: What a view of the folded part keeps free for labels on each side, and again for its title.
_LABEL_MM: Final = 7.0
_ROUNDED: Final = (
    "x and y count from the two datum edges. Lengths are rounded to 0.5 mm, exact value in brackets. Rounding moves a "
    "hole by up to 0.35 mm: where the fit is close, use the exact value with a height gauge. Drill steps are common "
    "practice, no source."
)
#: Cautions of every part made by hand.
_AT_THE_BENCH: Final = ("eyes", "clamp", "on the vehicle", "worst bend")
_ORDER: Final = "Check on a strip or a card that each bend can still be clamped when its turn comes."


def hand_work(
    flat: Flat,
    folded: Folded,
    findings: Sequence[Finding],
    paper: Paper = Paper.A4,
    quantity: int = 1,
    site_mark: str = "",
    order: Sequence[int] = (),
) -> tuple[Sheet, ...]:
    """A page to mark out from, then the steps; `order` is that of the bends that can be made, by their numbers.

    Raises ValueError for a quantity below 1."""
    block = TitleBlock(flat, tuple(findings), paper, quantity, f"scribed to {plain(STEP_MM)} mm", site_mark)
    box = content_box(block)
    columns = columns_of(box)
    width = columns[-1][2] - columns[-1][0]
    corners = tuple(run.start for run in outline_stretches(flat))
    drawn = flat_drawing(flat, (box[0], box[1], columns[-1][0] - BETWEEN_MM, box[3]), corners)
    holes = drillings(named_holes(flat), findings)
    said = (*map(one_line, flat.part.cautions), *map(caution, _AT_THE_BENCH))
    unnamed = [paragraph(f"No room on the view for: {', '.join(drawn.left_out)}.", width)] if drawn.left_out else []
    marks, left = pour(
        [*caution_bands(said, width), *unnamed, *_marking(flat, holes, width, order), *_safety(block, holes, width)],
        [columns[-1]],
    )
    left += _step_bands(flat, folded, steps(flat, holes, order), width)
    first = ("MARK OUT BY HAND, described face up", drawn.scale, [*drawn.marks, *marks])
    return workshop_pages(block, [first], "ORDER OF WORK BY HAND", left)


def _marking(flat: Flat, holes: Sequence[Drilling], width: float, order: Sequence[int]) -> list[Band]:
    """The tables of punch marks, bend lines and outline."""
    bands = table_bands(hole_rows(holes), width) if holes else []
    if holes and flat.strips:
        late = any(h.after_bending for h in holes)
        bands.append(paragraph(f"{'All others' if late else 'All holes'} are drilled before bending.", width))
    bands.append(paragraph(_ROUNDED, width))
    if flat.strips:
        said = f"{order_words(flat, order)} {_ORDER}".strip()
        bands += [*table_bands(bend_rows(flat), width), paragraph(said, width)]
    return [*bands, *table_bands(outline_rows(flat), width)]


def _safety(block: TitleBlock, holes: Sequence[Drilling], width: float) -> list[Band]:
    """Tools, and what the rules say against the part."""
    flat, bands = block.flat, list[Band]()
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
    around = (*padded(box, _LABEL_MM)[:3], box[3] + 2 * _LABEL_MM)
    named = ("folded bend", "face up")
    return [m for m in folded_view(folded, around) if not isinstance(m, Label) and not m.shows.startswith(named)]
