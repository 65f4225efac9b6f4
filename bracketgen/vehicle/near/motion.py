"""How far bodies of the vehicle move against each other, and how a hot pipe grows from where it is held."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from bracketgen.geometry.plane import cos_sin_deg
from bracketgen.geometry.space import Frame, Vector, cross, dot, length, minus, plus, scaled, unit
from bracketgen.rules.engine import NO_SOURCE
from bracketgen.standards.vehicle import HotExpansion, body_travel, hot_expansion, worst_expansion
from bracketgen.vehicle.near.solids import ShapeFault, Solid, ball_around, grown
from bracketgen.vehicle.site import BodyTable, BoxTable, CylinderTable, PipeTable, Thing


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


def growth_of(pipe: Thing, frame: Frame | None = None) -> Growth | None:
    """The growth of a pipe with a held end and a surface temperature; None without them, and for other things.

    Raises LookupFault for a metal that the table of hot expansion does not hold.
    """
    if not isinstance(pipe, PipeTable) or pipe.grows_from is None or pipe.surface is None:
        return None
    frame = frame or Frame()
    ends = pipe.points if pipe.grows_from == "start" else pipe.points[::-1]
    fixed, far = frame.point(ends[0]), frame.point(ends[-1])
    expansion = worst_expansion() if pipe.metal is None else hot_expansion(pipe.metal)
    share = growth_mm(1.0, pipe.surface - MEASURED_AT_C, expansion.per_k)
    return Growth(fixed, share, scaled(minus(far, fixed), share), expansion, pipe.metal is None)


def heat_states(solids: tuple[Solid, ...], growth: Growth | None) -> tuple[tuple[str, tuple[Solid, ...]], ...]:
    """What grows cold, hot, and between, else the thing as it is: name and solids."""
    if growth is None:
        return (("as measured", solids),)
    found = []
    for i in range(STATES):
        share = i / (STATES - 1)
        name = {0: "cold", STATES - 1: "hot"}.get(i, f"{share:.0%} hot")
        moved = tuple(grown(s, growth.fixed, growth.share * share) for s in solids) if i else solids
        found.append((name, moved))
    return tuple(found)


# How something is taken away: the legs of its way out, and where a hand or a strap wrench grips it.


#: Directions nearer to each other than this, as a share of their lengths, span no plane to tilt in.
_ONE_LINE: Final = 1e-6


@dataclass(frozen=True, slots=True)
class Straight:
    """Moved by `way`; `start` carries a place on the thing from where it hung to where it is when the leg begins."""

    start: Frame
    way: Vector

    def pose(self, share: float) -> Frame:
        """The same for a share of the leg, 0 to 1."""
        return replace(self.start, origin=plus(self.start.origin, self.way, share))

    def reach_mm(self, _solids: Sequence[Solid]) -> float:
        """No place on the thing, given as it hung, goes farther."""
        return length(self.way)


@dataclass(frozen=True, slots=True)
class Tilt:
    """Turned by `turn_deg` about the unit `axis` through `pivot` (where that is when the leg begins)."""

    start: Frame
    pivot: Vector
    axis: Vector
    turn_deg: float

    def pose(self, share: float) -> Frame:
        """Carries a place on the thing from where it hung to where it is after a share of the leg, 0 to 1."""
        return self.start.within(_turned(self.axis, share * self.turn_deg, self.pivot))

    def reach_mm(self, solids: Sequence[Solid]) -> float:
        """No place on the thing, given as it hung, goes farther."""
        balls = [b for b in (ball_around(s) for s in solids) if b is not None]
        off = (
            length(cross(self.axis, minus(self.start.point(middle), self.pivot))) + radius for middle, radius in balls
        )
        return max(off, default=0.0) * math.radians(self.turn_deg)


Leg = Straight | Tilt


def legs_of(thing: Thing, frame: Frame, solids: Sequence[Solid]) -> tuple[Leg, ...]:
    """The legs of a thing's way out, as it stands in `frame` with `solids`; none when it is not taken away.

    Raises ShapeFault for a tilt toward where the thing points already.
    """
    if not isinstance(thing, CylinderTable | BoxTable) or thing.removal is None or not any(thing.removal):
        return ()
    way = frame.direction(thing.removal)
    legs: list[Leg] = [Straight(Frame(), way)]
    ahead = unit(way)
    ball = ball_around(solids[0])
    assert ball is not None
    for n, table in enumerate(thing.removal_then, 2):
        start = legs[-1].pose(1.0)
        if table.move is not None:
            legs.append(Straight(start, frame.direction(table.move)))
            continue
        assert table.tilt is not None and table.toward is not None
        axis = cross(ahead, unit(frame.direction(table.toward)))
        if length(axis) < _ONE_LINE:
            raise ShapeFault(f"leg {n} of the way out tilts toward where the thing points already, or straight back")
        pivot = start.point(ball[0] if table.pivot is None else frame.point(table.pivot))
        legs.append(Tilt(start, pivot, unit(axis), table.tilt))
        ahead = _turned(unit(axis), table.tilt, (0.0, 0.0, 0.0)).direction(ahead)
    return tuple(legs)


def _turned(axis: Vector, turn_deg: float, through: Vector) -> Frame:
    """The move that turns everything about a line (Rodrigues' formula), as the frame that the outer one becomes."""
    c, s = cos_sin_deg(turn_deg)

    def turned(v: Vector) -> Vector:
        return plus(plus(scaled(v, c), cross(axis, v), s), axis, (1.0 - c) * dot(axis, v))

    x, y, z = turned((1.0, 0.0, 0.0)), turned((0.0, 1.0, 0.0)), turned((0.0, 0.0, 1.0))
    return Frame(minus(through, turned(through)), x, y, z)
