"""How far two bodies of the vehicle move against each other."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from bracketgen.fit.site.tables import BodyTable
from bracketgen.geometry.frame import Vector
from bracketgen.rules.rule import NO_SOURCE
from bracketgen.standards.vehicle import body_travel


@dataclass(frozen=True, slots=True)
class Travel:
    """To either side along x, y, z of the site, mm; and on whose word."""

    mm: Vector
    source: str

    @property
    def moves(self) -> bool:
        """Whether it moves at all."""
        return any(self.mm)


#: What moves together.
STILL = Travel((0.0, 0.0, 0.0), "")


def travel_of(body: str, bodies: Mapping[str, BodyTable]) -> Travel:
    """A body's own travel: as the site file says, else the usual one. Raises LookupFault where neither is known."""
    given = bodies[body].travel if body in bodies else None
    if given is not None:
        return Travel(given, "the site file")
    usual = body_travel(body)
    return Travel((usual.travel_mm, usual.travel_mm, usual.travel_mm), NO_SOURCE)


def relative_travel(a: str, b: str, bodies: Mapping[str, BodyTable]) -> Travel:
    """How far body b moves as seen from body a: both travels together. Raises LookupFault."""
    if a == b:
        return STILL
    one, other = travel_of(a, bodies), travel_of(b, bodies)
    mm = (one.mm[0] + other.mm[0], one.mm[1] + other.mm[1], one.mm[2] + other.mm[2])
    sources = dict.fromkeys(t.source for t in (one, other) if t.moves)
    return Travel(mm, "; ".join(sources))
