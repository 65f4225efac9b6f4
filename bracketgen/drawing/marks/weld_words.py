"""Labels that say where the part is welded, how thick and how long."""

from __future__ import annotations

from typing import Final

from bracketgen.bending.flat import Flat
from bracketgen.drawing.marks.plain_numbers import plain
from bracketgen.drawing.paper.trace import PaperMap
from bracketgen.drawing.picture.callouts import Callout, Target
from bracketgen.part.part import Weld, WeldSide

#: Where along a weld its arrow may end, its middle first: share, and what the place costs.
_SHARES: Final = ((0.5, 0.0), (0.35, 2.0), (0.65, 2.0), (0.2, 4.0), (0.8, 4.0))
_SIDES: Final = {WeldSide.BOTH: "both faces", WeldSide.FACE: "this face", WeldSide.BACK: "the back"}
_AWAY_MM: Final = 6.0


def weld_label(weld: Weld) -> str:
    """Such as 'weld a3 × 54.1, both faces'; an interrupted weld has its lengths joined by '+'."""
    lengths = " + ".join(plain(run.length_mm, 1) for run in weld.runs)
    return f"weld a{plain(weld.throat_mm, 1)} × {lengths}, {_SIDES[weld.sides]}"


def weld_callouts(flat: Flat, to_paper: PaperMap, size_mm: float) -> list[Callout]:
    """One label a weld, its arrow at the edge that is welded."""
    made: list[Callout] = []
    for panel in flat.part.panels:
        move = flat.placements[panel.id]
        for weld in panel.welds:
            targets = tuple(
                Target(to_paper.point(move.point(run.at(share))), cost=cost)
                for run in weld.runs
                for share, cost in _SHARES
            )
            made.append(Callout(weld_label(weld), targets, size_mm, f"label of {weld.id}", away_mm=_AWAY_MM))
    return made
