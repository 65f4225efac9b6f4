"""Where around a bolt a handle can stand and swing."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from bracketgen.geometry.plane import cos_sin_deg
from bracketgen.geometry.space import Frame
from bracketgen.vehicle.access.end import End
from bracketgen.vehicle.access.tool import ToolShape
from bracketgen.vehicle.near.gaps.gap import Bodies, gaps_at
from bracketgen.vehicle.near.gaps.solids import Solid

#: Directions looked at first, degrees apart.
_STEP_DEG: Final = 10.0
#: The ends of a sector are found this closely, on the safe side.
EXACT_DEG: Final = 0.05


@dataclass(frozen=True, slots=True)
class Sector:
    """Directions in which the handle is free, degrees; `stop_deg` is above `start_deg`, at most by 360."""

    start_deg: float
    stop_deg: float

    @property
    def wide_deg(self) -> float:
        """How far the handle swings."""
        return self.stop_deg - self.start_deg


FULL: Final = Sector(0.0, 360.0)


def turned(frame: Frame, angle_deg: float) -> Frame:
    """The frame turned about its own z."""
    c, s = cos_sin_deg(angle_deg)
    return Frame((0.0, 0.0, 0.0), (c, s, 0.0), (-s, c, 0.0)).within(frame)


def handle_gaps(
    end: End, handle: Sequence[Solid], obstacles: Bodies, angles_deg: Sequence[float], *, depths: bool = False
) -> list[float]:
    """The gap between the handle and what is in its way at each angle, mm.

    Where they meet it is -inf, or below 0 by how deep they meet when the depths are measured (slower).
    """
    return mm_at(obstacles, handle, [turned(end.frame, a) for a in angles_deg], depths=depths)


def mm_at(obstacles: Bodies, solids: Sequence[Solid], frames: Sequence[Frame], *, depths: bool) -> list[float]:
    """The gap between the obstacles (at least one) and solids that are given in each of the frames, mm."""
    return [-math.inf if g is None else g.mm for g in gaps_at(obstacles, solids, frames, depths=depths)]


def free_sectors(end: End, shape: ToolShape, obstacles: Bodies) -> tuple[Sector, ...]:
    """All sectors in which the handle is free, in order.

    Between two directions the handle is known to be free when both gaps together exceed what its end travels; else the
    middle is looked at too. A free sector narrower than 10 degrees between two blocked directions may be missed.
    """
    if not obstacles.solids:
        return (FULL,)
    known = _looked_at(end, shape, obstacles)
    angles = sorted(known)
    free = [(a, b) for a, b in zip(angles, [*angles[1:], angles[0] + 360.0], strict=True)
            if known[a] > 0.0 and known[b % 360.0] > 0.0]  # fmt: skip
    return _joined(free)


def _looked_at(end: End, shape: ToolShape, obstacles: Bodies) -> dict[float, float]:
    count = round(360.0 / _STEP_DEG)
    start = [i * _STEP_DEG for i in range(count)]
    known = dict(zip(start, handle_gaps(end, shape.handle, obstacles, start), strict=True))
    pending = [(a, a + _STEP_DEG) for a in start]
    while pending:
        middles = {(a + b) / 2: (a, b) for a, b in pending if _open_question(known, a, b, shape.reach_mm)}
        if not middles:
            break
        gaps = handle_gaps(end, shape.handle, obstacles, list(middles))
        known |= dict(zip(middles, gaps, strict=True))
        pending = [half for m, (a, b) in middles.items() for half in ((a, m), (m, b))]
    return known


def _open_question(known: dict[float, float], a: float, b: float, reach_mm: float) -> bool:
    here, there = known[a], known[b % 360.0]
    if b - a <= EXACT_DEG or (here <= 0.0 and there <= 0.0):
        return False
    return min(here, there) <= 0.0 or here + there <= reach_mm * math.radians(b - a)


def _joined(free: Sequence[tuple[float, float]]) -> tuple[Sector, ...]:
    sectors: list[Sector] = []
    for a, b in free:
        if sectors and abs(sectors[-1].stop_deg - a) < 1e-9:
            sectors[-1] = Sector(sectors[-1].start_deg, b)
        else:
            sectors.append(Sector(a, b))
    if len(sectors) > 1 and sectors[0].start_deg == 0.0 and sectors[-1].stop_deg == 360.0:
        sectors = [*sectors[1:-1], Sector(sectors[-1].start_deg, 360.0 + sectors[0].stop_deg)]
    return tuple(sectors)
