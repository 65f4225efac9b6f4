"""The smallest move that lets a tool in."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from bracketgen.geometry.space import Vector, dot, length, minus, plus, scaled, unit
from bracketgen.vehicle.access.access import EndAccess, Named, ToolTry, prepared, tool_try, within_reach
from bracketgen.vehicle.access.end import End
from bracketgen.vehicle.access.swing import handle_gaps, mm_at
from bracketgen.vehicle.access.tool import ToolShape
from bracketgen.vehicle.near.gaps.gap import gaps_at
from bracketgen.vehicle.near.gaps.solids import shifted

#: A move is found this closely.
_EXACT_MM: Final = 0.01
#: Ways across the bolt that are tried, degrees apart.
_WAYS_DEG: Final = 30.0
#: While a move is searched the swing is looked at this closely; the move itself is tried exactly.
_LOOK_DEG: Final = 7.5
#: What is added where a move looks free and is not quite.
_MORE_MM: Final = (0.0, 0.1, 0.5)
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

    Straight off it, in 12 ways across the bolt, and along it. Every move was tried; None when no move to 60 mm helps.
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
    """The shortest move that looks free and, tried exactly, is."""
    looked: list[tuple[float, Vector]] = []
    for way in _ways(access, shape, thing):
        mm = _least(access, shape, thing, way, min([limit_mm, *(m for m, _ in looked)]))
        if mm is not None:
            looked.append((mm, way))
    for mm, way in sorted(looked, key=lambda found: found[0]):
        for more in _MORE_MM:
            move = scaled(way, mm + more)
            if tool_try(access.end, shape, _moved(access, thing, move)).turns:
                return Freed(shape, thing, move)
    return None


def _ways(access: EndAccess, shape: ToolShape, thing: str) -> Iterator[Vector]:
    """Straight off the thing, out along the bolt, and all round across it."""
    frame = access.end.frame
    theirs = prepared([(n, s) for n, s in access.obstacles if n == thing])
    found = gaps_at(theirs, shape.round, (frame,))[0]
    assert found is not None
    for point in (found.here, found.there):
        off = minus(frame.origin, point)
        across = plus(off, frame.z, -dot(off, frame.z))
        if length(across) > _EXACT_MM:
            yield unit(across)
    yield frame.z
    for i in range(round(360.0 / _WAYS_DEG)):
        a = math.radians(i * _WAYS_DEG)
        yield frame.direction((math.cos(a), math.sin(a), 0.0))


def _least(access: EndAccess, shape: ToolShape, thing: str, way: Vector, most_mm: float) -> float | None:
    """The shortest move along `way` that looks free, if it is below `most_mm`: halved down."""
    if not _looks_free(access.end, shape, _moved(access, thing, scaled(way, most_mm - _EXACT_MM))):
        return None
    low, high = 0.0, most_mm - _EXACT_MM
    while high - low > _EXACT_MM:
        middle = (low + high) / 2
        if _looks_free(access.end, shape, _moved(access, thing, scaled(way, middle))):
            high = middle
        else:
            low = middle
    return high


def _moved(access: EndAccess, thing: str, move: Vector) -> list[Named]:
    """What stands around once the bolt has moved away from the thing: seen from the bolt the thing moves back."""
    back = scaled(move, -1.0)
    return [(n, shifted(s, back) if n == thing else s) for n, s in access.obstacles]


def _looks_free(end: End, shape: ToolShape, obstacles: Sequence[Named]) -> bool:
    near = within_reach(end, shape, obstacles)
    if not near:
        return True
    ready = prepared(near)
    if mm_at(ready, shape.round, (end.frame,), depths=False)[0] <= 0.0:
        return False
    count = round(360.0 / _LOOK_DEG)
    free = [g > 0.0 for g in handle_gaps(end, shape.handle, ready, [i * _LOOK_DEG for i in range(count)])]
    wide = math.ceil(shape.swing_deg / _LOOK_DEG - 1e-9) + 1
    return any(all(free[(i + k) % count] for k in range(wide)) for i in range(count))
