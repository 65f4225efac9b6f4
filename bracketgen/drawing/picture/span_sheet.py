"""The sheet of proposals: each folded, with what it weighs, how near it comes, and why it stands where it stands."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from bracketgen.drawing.columns import CAUTION_MM, Band, grid, paragraph, stacked
from bracketgen.drawing.marks.lettering import Weight, one_line, shortened, wrapped
from bracketgen.drawing.picture.folded_view import folded_view
from bracketgen.drawing.picture.head_and_foot import INNER, framed, head, small_print
from bracketgen.drawing.sheet import FAIL, FAINT, HAIR, INK, Label, Mark, Sheet, border
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point
from bracketgen.units import plain
from bracketgen.vehicle.span.proposal import Proposal

#: More than these would be too small to compare.
MOST_SHOWN: Final = 6
_BETWEEN_MM: Final = 4.0
_NAME_MM: Final = 4.4
_TEXT_MM: Final = 2.9
_MOST_LINES: Final = 5

_NOTES: Final = (
    "Sizes are nominal. A picture to choose by, not a template. The rules check making, not strength: have load paths "
    "judged by someone qualified. Stiffness compares these brackets with each other only.",
)


def span_sheet(proposals: Sequence[Proposal], title: str) -> Sheet:
    """One page with the best proposals, numbered in their order."""
    shown = proposals[:MOST_SHOWN]
    joined = "proposed brackets, the best first; choose one with its number"
    count = f"{len(shown)} proposal{'' if len(shown) == 1 else 's'}"
    more = f"of {len(proposals)}" if len(proposals) > len(shown) else "all pass the rules of making"
    marks, top = head(one_line(title), ("proposals", joined), ("count", count, more), INNER)
    x0, y0, x1, _ = INNER
    said = small_print(shown[0].flat.part.cautions if shown else (), x1 - x0, INK, CAUTION_MM)
    small = stacked((said, small_print(_NOTES, x1 - x0)))
    marks += small.at(Point(x0, y0 + small.height_mm))
    columns = max(1, 2 if len(shown) == 4 else min(len(shown), 3))
    area = (x0, y0 + small.height_mm + 2.0, x1, top - 2.0)
    boxes = grid(area, columns, max(1, -(-len(shown) // columns)), _BETWEEN_MM)
    for n, (proposal, box) in enumerate(zip(shown, boxes, strict=False), 1):
        marks += _tile(n, proposal, box)
    return framed(marks)


def _tile(n: int, proposal: Proposal, box: Box) -> list[Mark]:
    x0, y0, x1, y1 = box
    room = x1 - x0 - 4.0
    tone = FAIL if proposal.fouls else INK
    name = shortened(f"{n}   {proposal.kind}", room, _NAME_MM, Weight.BOLD)
    marks: list[Mark] = [border(box, 0.3, HAIR)]
    marks.append(Label(name, Point(x0 + 2.0, y1 - 5.6), _NAME_MM, tone, Weight.BOLD, shows=f"proposal {n}"))
    facts = _facts(n, proposal, room)
    foot = y0 + 1.2 + facts.height_mm
    # The view's own heading gives way to the proposal's.
    marks += [m for m in folded_view(proposal.folded, (x0 + 1.0, foot, x1 - 1.0, y1 - 1.0)) if m.shows != "folded view"]
    return [*marks, *facts.at(Point(x0 + 2.0, foot))]


def _facts(n: int, proposal: Proposal, width_mm: float) -> Band:
    """Facts first, then as many reasons as fit."""
    x0, y0, x1, y1 = proposal.flat.bounds_mm
    bends = f"{proposal.bends} bend{'' if proposal.bends == 1 else 's'}" if proposal.bends else "no bend"
    facts = f"{plain(proposal.mass_kg, 2)} kg, {bends}, flat {plain(x1 - x0, 0)} × {plain(y1 - y0, 0)} mm"
    said = [
        (facts, INK),
        *((r, (FAIL if proposal.fouls else INK) if k == 0 else FAINT) for k, r in enumerate(proposal.reasons)),
    ]
    lines = [(line, colour) for text, colour in said for line in wrapped(text, width_mm, _TEXT_MM)][:_MOST_LINES]
    return stacked(paragraph(t, width_mm, colour=c, shows=f"facts {n}", size_mm=_TEXT_MM, gap_mm=0.0) for t, c in lines)
