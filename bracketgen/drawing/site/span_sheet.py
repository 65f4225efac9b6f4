"""The sheet of proposals: each folded, with what it weighs, how near it comes, and why it stands where it stands."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from bracketgen.drawing.marks.lettering import LEADING, Weight, one_line, shortened, wrapped
from bracketgen.drawing.picture.folded_view import folded_view
from bracketgen.drawing.picture.head_and_foot import INNER, framed, head, small_print
from bracketgen.drawing.sheet import FAIL, FAINT, HAIR, INK, Colour, Label, Mark, Sheet, border
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
    small = small_print((*(shown[0].flat.part.cautions if shown else ()), *_NOTES), x1 - x0)
    marks += small.at(Point(x0, y0 + small.height_mm))
    boxes = _boxes(len(shown), (x0, y0 + small.height_mm + 2.0, x1, top))
    for n, (proposal, box) in enumerate(zip(shown, boxes, strict=True), 1):
        marks += _tile(n, proposal, box)
    return framed(marks)


def _boxes(count: int, area: Box) -> list[Box]:
    """Equal tiles, in rows from the top."""
    columns = min(count, 3) if count != 4 else 2
    rows = -(-count // max(columns, 1))
    x0, y0, x1, y1 = area
    wide = (x1 - x0 - _BETWEEN_MM * (columns - 1)) / max(columns, 1)
    high = (y1 - 2.0 - y0 - _BETWEEN_MM * (rows - 1)) / max(rows, 1)
    found = []
    for n in range(count):
        left = x0 + (n % columns) * (wide + _BETWEEN_MM)
        top = y1 - 2.0 - (n // columns) * (high + _BETWEEN_MM)
        found.append((left, top - high, left + wide, top))
    return found


def _tile(n: int, proposal: Proposal, box: Box) -> list[Mark]:
    x0, y0, x1, y1 = box
    room = x1 - x0 - 4.0
    tone = FAIL if proposal.fouls else INK
    name = shortened(f"{n}   {proposal.kind}", room, _NAME_MM, Weight.BOLD)
    marks: list[Mark] = [border(box, 0.3, HAIR)]
    marks.append(Label(name, Point(x0 + 2.0, y1 - 5.6), _NAME_MM, tone, Weight.BOLD, shows=f"proposal {n}"))
    lines = _lines(proposal, room)
    y = y0 + 2.0 + _TEXT_MM * LEADING * (len(lines) - 1)
    picture = (x0 + 1.0, y + _TEXT_MM * LEADING, x1 - 1.0, y1 - 1.0)
    # The view's own heading gives way to the proposal's.
    marks += [m for m in folded_view(proposal.folded, picture) if m.shows != "folded view"]
    for k, (line, colour) in enumerate(lines):
        at = Point(x0 + 2.0, y - k * _TEXT_MM * LEADING)
        marks.append(Label(line, at, _TEXT_MM, colour, shows=f"facts {n}"))
    return marks


def _lines(proposal: Proposal, room: float) -> list[tuple[str, Colour]]:
    """Facts first, then as many reasons as fit."""
    x0, y0, x1, y1 = proposal.flat.bounds_mm
    bends = f"{proposal.bends} bend{'' if proposal.bends == 1 else 's'}" if proposal.bends else "no bend"
    facts = f"{plain(proposal.mass_kg, 2)} kg, {bends}, flat {plain(x1 - x0, 0)} × {plain(y1 - y0, 0)} mm"
    told: list[tuple[str, Colour]] = [(facts, INK)]
    for number, reason in enumerate(proposal.reasons):
        bad = proposal.fouls and number == 0
        for line in wrapped(reason, room, _TEXT_MM):
            told.append((line, FAIL if bad else INK if number == 0 else FAINT))
    return told[:_MOST_LINES]
