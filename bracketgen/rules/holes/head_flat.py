"""Bolt heads, nuts and washers lie on flat metal, on both faces, after bending."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from bracketgen.findings import Finding, Level
from bracketgen.geometry.gap import Gap
from bracketgen.part.hole import Isolator, IsolatorKind, Purpose
from bracketgen.part.part import Bend
from bracketgen.rules.placed_hole import PlacedHole
from bracketgen.rules.rule import Rule, at, cited, short_of, up_mm
from bracketgen.rules.subject import Subject
from bracketgen.standards.fasteners import Fastener

_ID: Final = "head-flat"


@dataclass(frozen=True, slots=True)
class _Seat:
    """Half the room that the head across its corners, and the larger of head and washer, need on the metal, mm."""

    head_mm: float
    washer_mm: float
    source: str


def _check(subject: Subject) -> Iterator[Finding]:
    holes = tuple(h for h in subject.fastener_holes if h.bolt and h.hole.purpose is not Purpose.DOWEL)
    seats = [_seat(h.bolt, h.hole.isolator) for h in holes if h.bolt]
    for h, seat in zip(holes, seats, strict=True):
        yield from _near_bends(h, seat, subject)
    least: dict[int, Gap] = {}
    for i, edge in subject.edges_near(holes, [s.washer_mm for s in seats]):
        gap = holes[i].gap_to(edge)
        if i not in least or gap.mm < least[i].mm:
            least[i] = gap
    for i, gap in least.items():
        yield from _over_edge(holes[i], gap, seats[i])


def _seat(bolt: Fastener, rubber: Isolator | None) -> _Seat:
    wide = rubber is not None and rubber.kind is not IsolatorKind.BOBBIN
    washer = (bolt.wide_washer_od_mm if wide else None) or bolt.washer_od_mm or 0.0
    head = max(bolt.head_across_corners_mm, bolt.nut_across_flats_mm / math.cos(math.pi / 6)) / 2
    return _Seat(head, max(head, washer / 2), cited(bolt.source, bolt.how))


def _near_bends(h: PlacedHole, seat: _Seat, subject: Subject) -> Iterator[Finding]:
    for tangent in subject.tangents.get(h.panel, ()):
        bend = tangent.strip.bend
        gap = h.gap_to(tangent.line)
        lean = _lean_mm(bend, h.bolt) if h.bolt else 0.0
        needed = seat.washer_mm + lean
        if short_of(gap.mm, needed):
            why = "the other leg leans over it" if not short_of(gap.mm, seat.washer_mm) else "it would ride on the bend"
            remedy = f"move the hole {up_mm(needed - gap.mm)} away from {bend.id!r}: {why}"
            yield Finding(_ID, Level.FAIL, h.id, gap.mm, needed, "mm", at(gap.here), remedy, seat.source)


def _lean_mm(bend: Bend, bolt: Fastener) -> float:
    """How far the other leg's inner face stands over this panel at the height of the head, past the tangent line.

    Only a bend turned beyond square leans. The inner face leaves the arc at height R (1 - cos turn) and moves
    back over the panel by 1 / tan(turn) per mm of height; plane geometry.
    """
    if bend.turn_deg <= 90.0:
        return 0.0
    turn = math.radians(bend.turn_deg)
    height = max(bolt.head_height_mm, bolt.nut_height_mm)
    above = height - bend.inside_radius_mm * (1.0 - math.cos(turn))
    face = bend.inside_radius_mm * math.sin(turn) + above / math.tan(turn)
    return max(0.0, -face)


def _over_edge(h: PlacedHole, gap: Gap, seat: _Seat) -> Iterator[Finding]:
    place = at(gap.here)
    if short_of(gap.mm, seat.head_mm):
        remedy = f"move the hole {up_mm(seat.head_mm - gap.mm)} inward: the head or nut hangs over the edge"
        yield Finding(_ID, Level.FAIL, h.id, gap.mm, seat.head_mm, "mm", place, remedy, seat.source)
    elif short_of(gap.mm, seat.washer_mm):
        remedy = f"move the hole {up_mm(seat.washer_mm - gap.mm)} inward, or the washer hangs over the edge"
        yield Finding(_ID, Level.WARN, h.id, gap.mm, seat.washer_mm, "mm", place, remedy, seat.source)


RULE = Rule(
    _ID,
    "Head, nut and washer of every bolt lie on flat metal, clear of bends, edges and the other leg, on both faces",
    "the fastener table; plane geometry",
    _check,
)
