"""How much room the best tool on a hexagon has to spare."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from bracketgen.geometry.space import Frame
from bracketgen.vehicle.access.access import Named, prepared, within_reach
from bracketgen.vehicle.access.end import End
from bracketgen.vehicle.access.swing import handle_gaps, mm_at, turned
from bracketgen.vehicle.access.tool import ToolShape, tool_shapes
from bracketgen.vehicle.near.gaps.gap import Bodies, least_gaps
from bracketgen.vehicle.near.gaps.solids import Solid

#: Directions that a margin looks at, degrees apart.
_STEP_DEG: Final = 15.0
#: A margin need not be known beyond this, mm.
FAR_MM: Final = 1000.0


@dataclass(frozen=True, slots=True)
class Spare:
    """The room to spare, mm (below 0: no tool fits), with which tool, its swing beginning at `start_deg`."""

    mm: float
    shape: ToolShape
    start_deg: float


def most_spare(end: End, obstacles: Sequence[Named], enough_mm: float = FAR_MM) -> Spare:
    """The tool and swing with the most room to spare around them. The swing is looked at every 15 degrees.

    No more than `enough_mm` is looked for: that much is returned for more. Raises LookupFault beyond 46 mm.
    """
    best: Spare | None = None
    for shape in tool_shapes(end):
        found = _spare(end, shape, obstacles, -math.inf if best is None else best.mm, enough_mm)
        if best is None or found.mm > best.mm:
            best = found
        if best.mm >= enough_mm:
            break
    assert best is not None
    return best


def still_spare(known: Sequence[tuple[End, Spare]], obstacles: Sequence[Named], enough_mm: float) -> bool:
    """Whether on every hexagon the same tool in the same swing has `enough_mm` among these obstacles too.

    All are asked together, which is quicker than `most_spare` for each.
    """
    if not obstacles or not known:
        return True
    solids: list[Solid] = []
    moves: list[tuple[Frame, ...]] = []
    for end, spare in known:
        swing = tuple(turned(end.frame, spare.start_deg + k * _STEP_DEG) for k in range(_wide(spare.shape)))
        solids += [*spare.shape.round, *spare.shape.handle]
        moves += [(end.frame,)] * len(spare.shape.round) + [swing] * len(spare.shape.handle)
    asked = [(i, j, 0) for i in range(len(obstacles)) for j in range(len(solids))]
    found = least_gaps(prepared(obstacles), Bodies.of(solids, moves), asked, 1, depths=False)
    return found[0] is None or found[0].mm >= enough_mm


def _spare(end: End, shape: ToolShape, obstacles: Sequence[Named], above_mm: float, enough_mm: float) -> Spare:
    near = within_reach(end, shape, obstacles, enough_mm)
    if not near:
        return Spare(enough_mm, shape, 0.0)
    ready = prepared(near)
    seat = mm_at(ready, shape.round, (end.frame,), depths=True)[0]
    if seat <= above_mm:
        return Spare(seat, shape, 0.0)
    swing, start = _widest_swing(end, shape, ready)
    return Spare(min(seat, swing, enough_mm), shape, start)


def _widest_swing(end: End, shape: ToolShape, ready: Bodies) -> tuple[float, float]:
    """The most room that a whole swing has, and where it begins."""
    count, wide = round(360.0 / _STEP_DEG), _wide(shape)
    best = (-math.inf, 0.0)
    # How deep a handle meets things only matters where no swing is free.
    for depths in (False, True):
        gaps = handle_gaps(end, shape.handle, ready, [i * _STEP_DEG for i in range(count)], depths=depths)
        best = max((min(gaps[(i + k) % count] for k in range(wide)), i * _STEP_DEG) for i in range(count))
        if math.isfinite(best[0]):
            break
    return best


def _wide(shape: ToolShape) -> int:
    """How many directions a swing takes."""
    return math.ceil(shape.swing_deg / _STEP_DEG - 1e-9) + 1
