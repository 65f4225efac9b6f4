"""How far bodies of the vehicle move against each other, and how a hot pipe grows from where it is held."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from bracketgen.geometry.space import Frame, Vector, length, minus, scaled
from bracketgen.rules.engine import NO_SOURCE
from bracketgen.standards.vehicle import HotExpansion, body_travel, hot_expansion, worst_expansion
from bracketgen.vehicle.near.gaps.solids import Solid
from bracketgen.vehicle.near.site_solids import grown
from bracketgen.vehicle.site import BodyTable, PipeTable


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


#: The pipe was measured at this temperature, degrees C; common practice, no source.
MEASURED_AT_C: Final = 20.0
#: Positions between cold and hot that are looked at, both ends included.
STATES: Final = 3


@dataclass(frozen=True, slots=True)
class Growth:
    """Free growth of a pipe held at one end: from `fixed`, by `share` of every distance; `end` is where its far end
    goes, mm. `expansion` says by which figure, `worst` whether nobody said which metal."""

    fixed: Vector
    share: float
    end: Vector
    expansion: HotExpansion
    worst: bool

    @property
    def end_mm(self) -> float:
        """How far the far end goes."""
        return length(self.end)


def growth_mm(length_mm: float, rise_k: float, per_k: float) -> float:
    """Free growth of a length: length x rise x mean expansion."""
    return length_mm * rise_k * per_k


def growth_at(growth: Growth, at: Vector) -> Vector:
    """How far a place that goes with the pipe is moved when it is hot, mm."""
    return scaled(minus(at, growth.fixed), growth.share)


def growth_of(pipe: PipeTable, frame: Frame | None = None) -> Growth | None:
    """The growth of a pipe with a held end and a surface temperature; None without them.

    Raises LookupFault for a metal that the table of hot expansion does not hold.
    """
    if pipe.grows_from is None or pipe.surface is None:
        return None
    frame = frame or Frame()
    ends = pipe.points if pipe.grows_from == "start" else pipe.points[::-1]
    fixed, far = frame.point(ends[0]), frame.point(ends[-1])
    expansion = worst_expansion() if pipe.metal is None else hot_expansion(pipe.metal)
    share = growth_mm(1.0, pipe.surface - MEASURED_AT_C, expansion.per_k)
    return Growth(fixed, share, scaled(minus(far, fixed), share), expansion, pipe.metal is None)


def hot_states(solids: tuple[Solid, ...], growth: Growth) -> tuple[tuple[str, tuple[Solid, ...]], ...]:
    """The pipe cold, hot, and between: name and solids."""
    found = []
    for i in range(STATES):
        share = i / (STATES - 1)
        name = {0: "cold", STATES - 1: "hot"}.get(i, f"{share:.0%} hot")
        moved = tuple(grown(s, growth.fixed, growth.share * share) for s in solids) if i else solids
        found.append((name, moved))
    return tuple(found)
