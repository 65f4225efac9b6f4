"""What is said of a bolt that no tool turns: the smallest move that lets one in."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from bracketgen.findings import Finding, Level
from bracketgen.geometry.space import Vector, dot, length, minus, plus, scaled, unit
from bracketgen.rules.engine import DOUBT, NO_SOURCE, cited, up_mm
from bracketgen.rules.in_place import ACCESS
from bracketgen.standards.hand_tools import socket, tool_swing
from bracketgen.vehicle.access.access import (
    BoltAccess,
    EndAccess,
    ToolTry,
    prepared,
    tool_try,
    within_reach,
)
from bracketgen.vehicle.access.spanners import End, Tool, ToolShape, swings
from bracketgen.vehicle.near.envelope import Named
from bracketgen.vehicle.near.gap import gaps_at, mm_at
from bracketgen.vehicle.near.solids import shifted

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
    return max(swings(end, shape, ready, _LOOK_DEG)) > 0.0


# -- findings


def bolt_findings(bolt: BoltAccess) -> Iterator[Finding]:
    """What is wrong with one bolt: nothing, when one end can be turned and the other held."""
    if bolt.fits:
        return
    stuck = [e for e in bolt.ends if e.held_by is None] or [min(bolt.ends, key=_missing_deg)]
    for end in stuck:
        yield _finding(end, bolt.hole)


def _missing_deg(end: EndAccess) -> float:
    return min(t.shape.swing_deg - (t.widest.wide_deg if t.widest else 0.0) for t in end.tries)


def _finding(end: EndAccess, hole: str) -> Finding:
    freed = smallest_freeing(end)
    best = max(end.tries, key=lambda t: (t.seats, t.widest.wide_deg if t.widest else 0.0, _seat_mm(t)))
    if freed is not None:
        best = next(t for t in end.tries if t.shape == freed.shape)
    remedy = _remedy(end, best, freed)
    if not best.seats:
        return ACCESS.finding(Level.FAIL, hole, _seat_mm(best), 0.0, None, remedy, _source(best, end))
    wide = best.widest.wide_deg if best.widest else 0.0
    return ACCESS.finding(Level.FAIL, hole, wide, best.shape.swing_deg, None, remedy, _source(best, end), "deg")


def _seat_mm(tried: ToolTry) -> float:
    return tried.seat.mm if tried.seat is not None else 0.0


def _remedy(end: EndAccess, best: ToolTry, freed: Freed | None) -> str:
    in_the_way = " and ".join(best.in_the_way) or "what stands around"
    what = "does not get on" if not best.seats else f"cannot swing by {best.shape.swing_deg:g} degrees"
    said = f"{end.end.title}: no tool turns it; the {best.shape.name} {what} for {in_the_way}"
    if freed is None:
        none = "no move of the bolt away from one thing was found that helps"
        return f"{said}; {none}: hold that end by a thread, a weld nut or a rivet nut, or choose another place"
    x, y, z = freed.move
    off = f"{up_mm(freed.mm)} farther from {freed.thing}, along ({x:.1f}, {y:.1f}, {z:.1f})"
    return f"{said}; with the bolt {off}, the {freed.shape.name} turns it"


def _source(tried: ToolTry, end: EndAccess) -> str:
    if tried.shape.tool is Tool.SOCKET:
        held = socket(end.end.across_flats_mm)
        doubt = f"; drive end and length from memory: {DOUBT}" if held.from_memory else ""
        return f"{cited(held.source, held.how)}{doubt}; room for hand and ratchet: {NO_SOURCE}"
    swing = tool_swing("ring" if tried.shape.tool is Tool.RING else "open end")
    return f"{cited(swing.source, swing.how)}; sizes: table of spanners"
