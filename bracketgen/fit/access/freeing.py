"""The smallest move that lets a tool in."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from bracketgen.fit.access.access import EndAccess, Named, ToolTry, prepared, tool_try, within_reach
from bracketgen.fit.access.end import End
from bracketgen.fit.access.swing import handle_gaps
from bracketgen.fit.access.tool import ToolShape
from bracketgen.fit.near.clearance_solids import shifted
from bracketgen.fit.near.sweep import least_gap_over
from bracketgen.geometry.frame import Vector
from bracketgen.geometry.vector import length, scaled

#: A move is found this closely.
_EXACT_MM: Final = 0.01
#: Ways across the bolt that are tried, degrees apart; and along it, out toward the tool.
_WAYS_DEG: Final = 15.0
#: While a move is searched the swing is looked at this closely; the move itself is tried exactly.
_LOOK_DEG: Final = 7.5
#: A move longer than this is no cure.
_MOST_MM: Final = 60.0


@dataclass(frozen=True, slots=True)
class Freed:
    """A tool that fits once the bolt stands farther off `thing` by `move` (mm, in the site)."""

    shape: ToolShape
    thing: str
    move: Vector

    @property
    def mm(self) -> float:
        """How far."""
        return length(self.move)


def smallest_freeing(access: EndAccess) -> Freed | None:
    """The shortest move of the bolt away from one thing, everything else left where it is, that lets a tool turn it.

    Straight across the bolt in 24 ways, and along it. Every move was tried; None when no move to 60 mm helps.
    """
    best: Freed | None = None
    for tried in access.tries:
        for thing in _culprits(access, tried):
            limit = _MOST_MM if best is None else best.mm
            found = _freed(access, tried.shape, thing, limit)
            if found is not None and (best is None or found.mm < best.mm - _EXACT_MM):
                best = found
    return best


def _culprits(access: EndAccess, tried: ToolTry) -> Iterator[str]:
    """Things without which the tool would fit."""
    for name in tried.in_the_way:
        rest = [(n, s) for n, s in access.obstacles if n != name]
        if tool_try(access.end, tried.shape, rest).turns:
            yield name


def _freed(access: EndAccess, shape: ToolShape, thing: str, limit_mm: float) -> Freed | None:
    best: Freed | None = None
    for way in _ways(access.end):
        most = limit_mm if best is None else best.mm
        mm = _least(access, shape, thing, way, most)
        if mm is not None and (best is None or mm < best.mm):
            best = Freed(shape, thing, scaled(way, mm))
    return best


def _ways(end: End) -> Iterator[Vector]:
    yield end.frame.z
    for i in range(round(360.0 / _WAYS_DEG)):
        a = math.radians(i * _WAYS_DEG)
        yield end.frame.direction((math.cos(a), math.sin(a), 0.0))


def _least(access: EndAccess, shape: ToolShape, thing: str, way: Vector, most_mm: float) -> float | None:
    """The shortest move along `way`, below `most_mm`: halved down, then tried exactly."""
    if not _looks_free(access.end, shape, _moved(access, thing, scaled(way, most_mm))):
        return None
    low, high = 0.0, most_mm
    while high - low > _EXACT_MM:
        middle = (low + high) / 2
        if _looks_free(access.end, shape, _moved(access, thing, scaled(way, middle))):
            high = middle
        else:
            low = middle
    for mm in (high, high + 0.1, high + 0.5):
        if mm <= most_mm and tool_try(access.end, shape, _moved(access, thing, scaled(way, mm))).turns:
            return mm
    return None


def _moved(access: EndAccess, thing: str, move: Vector) -> list[Named]:
    """What stands around once the bolt has moved away from the thing: seen from the bolt the thing moves back."""
    back = scaled(move, -1.0)
    return [(n, shifted(s, back) if n == thing else s) for n, s in access.obstacles]


def _looks_free(end: End, shape: ToolShape, obstacles: Sequence[Named]) -> bool:
    near = within_reach(end, shape, obstacles)
    if not near:
        return True
    ready = prepared(near)
    if least_gap_over(ready, shape.round, (end.frame,))[0].mm <= 0.0:
        return False
    count = round(360.0 / _LOOK_DEG)
    free = [g > 0.0 for g in handle_gaps(end, shape.handle, ready, [i * _LOOK_DEG for i in range(count)])]
    wide = math.ceil(shape.swing_deg / _LOOK_DEG - 1e-9) + 1
    return any(all(free[(i + k) % count] for k in range(wide)) for i in range(count))
