"""What tool access has to say: findings, and a line a hexagon."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from bracketgen.findings import Finding, Level
from bracketgen.rules.rule import NO_SOURCE, cited, up_mm
from bracketgen.standards.hand_tools import socket, tool_swing
from bracketgen.vehicle.access.access import BoltAccess, EndAccess, ToolTry, bolt_accesses
from bracketgen.vehicle.access.freeing import Freed, smallest_freeing
from bracketgen.vehicle.access.tool import Tool
from bracketgen.vehicle.near.scene import Scene

#: What a waiver names.
RULE: Final = "tool-access"
TITLE: Final = "A socket or a spanner gets onto every bolt and nut, and can turn"


def access_findings(scene: Scene) -> tuple[Finding, ...]:
    """A failure for every hexagon that no tool turns or holds. Raises LookupFault for hexagons wider than 46 mm."""
    return tuple(f for bolt in bolt_accesses(scene) for f in bolt_findings(bolt))


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
        return Finding(RULE, Level.FAIL, hole, _seat_mm(best), 0.0, "mm", None, remedy, _source(best, end))
    wide = best.widest.wide_deg if best.widest else 0.0
    return Finding(RULE, Level.FAIL, hole, wide, best.shape.swing_deg, "deg", None, remedy, _source(best, end))


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
        return f"{cited(held.source, held.how)}; room for hand and ratchet: {NO_SOURCE}"
    swing = tool_swing("ring" if tried.shape.tool is Tool.RING else "open end")
    return f"{cited(swing.source, swing.how)}; sizes: table of spanners"


def access_lines(bolts: Sequence[BoltAccess]) -> Iterator[str]:
    """A line a hexagon: which tools turn it and where their handle is free."""
    for bolt in bolts:
        for end in bolt.ends:
            yield f"{end.end.title}: {_words(end)}"


def _words(end: EndAccess) -> str:
    turning = [t for t in end.tries if t.turns]
    if turning:
        return "; ".join(f"{t.shape.name}, handle free {_free(t)}" for t in turning)
    held = end.held_by
    return f"only to be held, by {held.shape.name}, handle free {_free(held)}" if held else "no tool"


def _free(tried: ToolTry) -> str:
    if any(s.wide_deg >= 360.0 for s in tried.sectors):
        return "all round"
    return " and ".join(f"{s.start_deg:.0f} to {s.stop_deg:.0f} degrees" for s in tried.sectors)
