"""What a place of the carried thing has to spare: gaps, ways out, room for the hand and for tools."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import Final

import numpy as np

from bracketgen.geometry.arrays import Floats
from bracketgen.geometry.space import Frame, Vector, cross, dot, length, minus, plus, scaled, unit
from bracketgen.rules.engine import NO_SOURCE
from bracketgen.standards.fasteners import fastener, washer_thickness_mm
from bracketgen.vehicle.access.access import Spare, most_spare, still_spare
from bracketgen.vehicle.access.grip import grip_of
from bracketgen.vehicle.access.spanners import End
from bracketgen.vehicle.locate.locate import Located
from bracketgen.vehicle.near.envelope import Box, Mine, Movement, Named, State, StraightPath, least_gap
from bracketgen.vehicle.near.gap import Bodies, least_gaps
from bracketgen.vehicle.near.motion import Leg, Straight, Tilt, Travel, growth_of, heat_states, legs_of, relative_travel
from bracketgen.vehicle.near.removal import gaps_on, least_on_way
from bracketgen.vehicle.near.required import Motion, needed_between, needed_for_heat
from bracketgen.vehicle.near.scene import kind_of
from bracketgen.vehicle.near.solids import Gap3, Solid, ball_around, moved, solids_of
from bracketgen.vehicle.seating.bolts import carried_holes
from bracketgen.vehicle.site import CarriedTable, SiteDocument, Thing


class Reason(StrEnum):
    """For what room is asked."""

    GAP = "gap"
    HEAT = "heat"
    REMOVAL = "removal"
    HAND = "room for the hand"
    TOOL = "tool access"


@dataclass(frozen=True, slots=True)
class Margin:
    """What two things have, and what they need, mm; on whose word."""

    a: str
    b: str
    reason: Reason
    gap_mm: float
    needed_mm: float
    source: str

    @property
    def mm(self) -> float:
        """What is to spare; below 0 it is missing."""
        return self.gap_mm - self.needed_mm

    def __str__(self) -> str:
        said = f"{self.a} to {self.b}, {self.reason}: {self.gap_mm:.1f} mm, needs {self.needed_mm:g} mm"
        return f"{said}, {abs(self.mm):.1f} mm {'to spare' if self.mm >= 0.0 else 'missing'}"


# -- against every neighbour: heights for the search, exact margins for the report


#: Places along a way out that the search looks at; the report follows the way exactly.
_STEPS: Final = 17
_CLEAR: Final = "solids can't share room"


@dataclass(frozen=True, slots=True)
class Pair:
    """One carried thing and one neighbour, with what they must keep.

    `mine` in the carried thing's frame; `states` of the neighbour in the site. `travel` of the neighbour as seen from
    the carried thing; `way` of the one that is taken out (carried thing: in its own frame).
    """

    a: str
    b: str
    reason: Reason
    mine: tuple[Solid, ...]
    states: tuple[State, ...]
    needed_mm: float
    source: str
    travel: Vector = (0.0, 0.0, 0.0)
    leg: Leg | None = None
    theirs_goes: bool = False

    def search_sides(self) -> tuple[tuple[Solid, ...], list[Solid]]:
        """What the search holds against each other: the ways out as steps."""
        mine, theirs = self.mine, [s for _, solids in self.states for s in solids]
        if self.leg is not None:
            poses = [self.leg.pose(k / (_STEPS - 1)) for k in range(_STEPS)]
            if self.theirs_goes:
                theirs = [moved(s, pose) for s in theirs for pose in poses]
            else:
                mine = tuple(moved(s, pose) for s in mine for pose in poses)
        return mine, theirs

    def height_mm(self, found: Gap3) -> float:
        """What is to spare, from the gap of the search, on the safe side: all travel counts toward the other."""
        toward = minus(found.here, found.there)
        size = length(toward)
        taken = length(self.travel)
        if found.mm > 0.0 and size > 0.0:
            taken = sum(abs(t) / size * m for t, m in zip(toward, self.travel, strict=True))
        return found.mm - taken - self.needed_mm

    def margin(self, frame: Frame) -> Margin:
        """What is to spare with the carried thing in `frame`, exactly."""
        mm = self._on_tilt(self.leg, frame) if isinstance(self.leg, Tilt) else self._least_mm(frame)
        if mm <= 0.0:
            # The first contact was found; how deep it gets tells which place is worse.
            mm = min(
                mm if math.isfinite(mm) else 0.0,
                float(PairSearch([self]).heights((frame,), 1.0)[0][0, 0]) + self.needed_mm,
            )
        return Margin(self.a, self.b, self.reason, mm, self.needed_mm, self.source)

    def _least_mm(self, frame: Frame) -> float:
        """Standing still, moved by travel, or on a straight leg."""
        movement: Movement = Box(self.travel)
        states: Sequence[State] = self.states
        solids = [moved(s, frame) for s in self.mine]
        if isinstance(self.leg, Straight) and self.theirs_goes:
            movement, start = StraightPath(self.leg.way), self.leg.start
            states = [(name, [moved(s, start) for s in theirs]) for name, theirs in self.states]
        elif isinstance(self.leg, Straight):
            # Mine going out is theirs coming the other way.
            movement, start = StraightPath(scaled(frame.direction(self.leg.way), -1.0)), self.leg.start.within(frame)
            solids = [moved(s, start) for s in self.mine]
        least = least_gap(Mine.of([(self.a, s) for s in solids]), states, movement)
        assert least is not None
        return least.gap.mm

    def _on_tilt(self, leg: Tilt, frame: Frame) -> float:
        """On a tilted leg; -inf where the two meet."""
        theirs = [s for _, solids in self.states for s in solids]
        if self.theirs_goes:
            still, going, tilt = [moved(s, frame) for s in self.mine], theirs, leg
        else:
            # What is given in the carried thing's frame tilts in it as well.
            still, going = theirs, list(self.mine)
            tilt = replace(
                leg,
                start=leg.start.within(frame),
                pivot=frame.point(leg.pivot),
                axis=frame.direction(leg.axis),
            )
        return least_on_way(gaps_on(tilt, going, Bodies.of(still)), tilt.reach_mm(going))


def pairs_of(site: SiteDocument) -> tuple[Pair, ...]:
    """Every carried thing with every neighbour: what they must keep, what heat asks, the ways out.

    A gap that nobody may assume and nobody states counts with the shops' habit, or 0. Raises ShapeFault and LookupFault
    for things that can't stand as they are written.
    """
    carried = site.carried
    if carried is None:
        return ()
    found: list[Pair] = []
    body = _moves_with(site, carried)
    for mine_name, mine in carried.things.items():
        for their_name, theirs in site.neighbours.items():
            travel = relative_travel(body, theirs.body, site.bodies)
            found += _between(f"carried {mine_name}", mine, their_name, theirs, travel)
    return tuple(found)


def _moves_with(site: SiteDocument, carried: CarriedTable) -> str:
    """The body that the carried things move with: their own, unless something gives between; then the bracket's.

    There is no bracket yet: of the faces the first one that it would hold still at is taken.
    """
    if carried.flexible is None:
        return carried.body
    return next((f.body for f in site.faces.values() if f.flexible is None), carried.body)


def _between(a: str, mine: Thing, b: str, theirs: Thing, travel: Travel) -> list[Pair]:
    growth = growth_of(theirs)
    solids = solids_of(theirs)
    states = heat_states(solids, growth)
    own = solids_of(mine)
    kinds = kind_of(mine), kind_of(theirs)
    motion = Motion.APART if travel.moves or growth is not None else Motion.TOGETHER
    keep = needed_between(*kinds, motion)
    mm = keep.mm if keep.mm is not None else keep.habit_mm or 0.0
    pairs = [Pair(a, b, Reason.GAP, own, states, mm, keep.source, travel.mm)]
    heat = needed_for_heat(kinds[0], own[0], kinds[1], solids[0])
    if heat is not None and heat.mm is not None and heat.mm > mm:
        pairs.append(Pair(a, b, Reason.HEAT, own, states, heat.mm, heat.source, travel.mm))
    for thing, goes in ((mine, False), (theirs, True)):
        for leg in legs_of(thing, Frame(), solids if goes else own):
            pairs.append(Pair(a, b, Reason.REMOVAL, own, states, 0.0, _CLEAR, leg=leg, theirs_goes=goes))
    return [*pairs, *_hands(a, mine, b, theirs)]


def _hands(a: str, mine: Thing, b: str, theirs: Thing) -> Iterator[Pair]:
    """Room around what is unscrewed; a strap wrench's handle is looked at when there is a bracket."""
    hand, other = grip_of(mine, Frame()), grip_of(theirs, Frame())
    if hand is not None:
        yield Pair(a, b, Reason.HAND, (hand.ring(),), (("", solids_of(theirs)),), 0.0, NO_SOURCE)
    if other is not None:
        yield Pair(a, b, Reason.HAND, solids_of(mine), (("", (other.ring(),)),), 0.0, NO_SOURCE)


class PairSearch:
    """Pairs made ready to be asked together at many places."""

    def __init__(self, pairs: Sequence[Pair]) -> None:
        self.pairs = pairs
        sides = [p.search_sides() for p in pairs]
        self.mine: list[Solid] = [s for mine, _ in sides for s in mine]
        self.theirs = Bodies.of([s for _, theirs in sides for s in theirs])
        self.couples: list[tuple[int, int, int]] = []
        here = there = 0
        for k, (mine, theirs) in enumerate(sides):
            self.couples += [(here + i, there + j, k) for i in range(len(theirs)) for j in range(len(mine))]
            here, there = here + len(theirs), there + len(mine)

    def heights(self, frames: Sequence[Frame], lever_mm: float) -> tuple[Floats, Floats]:
        """What every pair has to spare at each frame (n, pairs), and its growth with shift x, y, z and the turn."""
        n, moves = len(frames), tuple(frames)
        there = Bodies.of(self.mine, [moves] * len(self.mine))
        asked = [(i, j, k * n) for i, j, k in self.couples]
        found = least_gaps(self.theirs, there, asked, n * len(self.pairs), by_step=True)
        mm, slope = np.full((n, len(self.pairs)), np.inf), np.zeros((n, len(self.pairs), 4))
        for group, one in enumerate(found):
            if one is not None:
                pair, step = divmod(group, n)
                mm[step, pair] = self.pairs[pair].height_mm(one)
                slope[step, pair] = _slope(one, frames[step], lever_mm)
        return mm, slope


def _slope(found: Gap3, frame: Frame, lever_mm: float) -> tuple[float, float, float, float]:
    """How the gap grows: along the way from theirs to mine; nothing is known where they meet."""
    away = minus(found.there, found.here)
    if found.mm <= 0.0 or length(away) <= 0.0:
        return 0.0, 0.0, 0.0, 0.0
    n = unit(away)
    turn = dot(n, cross(frame.z, minus(found.there, frame.origin))) / lever_mm
    return (*n, turn)


def lever_of(site: SiteDocument) -> float:
    """How far the carried thing reaches from the origin of its frame, at least 50 mm."""
    solids = [s for t in (site.carried.things.values() if site.carried else ()) for s in solids_of(t)]
    balls = [b for b in (ball_around(s) for s in solids) if b is not None]
    return max([50.0, *(math.hypot(*c) + r for c, r in balls)])


# -- room for the tools on the bolts, while there is no bracket yet


_ALONG: Final = (1.0, 0.0, 0.0)
#: A tool with this much to spare around it and its swing is as good as free; common practice, no source.
FREE_MM: Final = 5.0


@dataclass(frozen=True, slots=True)
class ToolRoom:
    """The heads on the carried thing's holes (in its frame) and on the vehicle's, and what may be in the way."""

    hung: tuple[End, ...]
    old: tuple[End, ...]
    things: tuple[Named, ...]
    neighbours: tuple[Named, ...]
    #: What fitted each bolt last: asked first, since it mostly still does. It changes no answer.
    last: dict[str, Spare] = field(default_factory=dict, compare=False)

    @staticmethod
    def of(site: SiteDocument, carried: CarriedTable, located: Located | None, metal_mm: float) -> ToolRoom:
        """Every head lies on `metal_mm` of bracket and a washer. Raises ShapeFault, LookupFault."""
        hung = [_end(h.id, h.size or "", h.centre, h.normal, metal_mm) for h in carried_holes(carried).values()]
        old = [
            _end(h.id, h.bolt, h.centre, h.normal, metal_mm)
            for h in (located.holes if located is not None else ())
            if h.bolt is not None
        ]
        return ToolRoom(
            tuple(hung),
            tuple(old),
            tuple((f"carried {n}", s) for n, t in carried.things.items() for s in solids_of(t)),
            tuple((n, s) for n, t in site.neighbours.items() for s in solids_of(t)),
        )

    def margins(self, frame: Frame) -> list[Margin]:
        """What the best tool has to spare on every bolt, the carried thing in `frame`; none where one is free."""
        ends, around = self._seen(frame)
        found = [(end, most_spare(end, around, FREE_MM).mm) for end in ends]
        return [
            Margin(end.title, "what stands around", Reason.TOOL, mm, 0.0, NO_SOURCE)
            for end, mm in found
            if mm < FREE_MM
        ]

    def least_mm(self, frame: Frame, enough_mm: float) -> float:
        """The least of them; `enough_mm` when all have that, or are free."""
        least = enough_mm
        ends, around = self._seen(frame)
        known = [(end, self.last[end.hole]) for end in ends if end.hole in self.last]
        if len(known) == len(ends) and still_spare(known, around, min(least, FREE_MM)):
            return least
        for end in ends:
            enough = min(least, FREE_MM)
            self.last[end.hole] = spare = most_spare(end, around, enough)
            if spare.mm < enough:
                least = spare.mm
        return least

    def _seen(self, frame: Frame) -> tuple[list[End], list[Named]]:
        """All heads and all obstacles with the carried thing in `frame`."""
        around: list[Named] = [*self.neighbours, *((n, moved(s, frame)) for n, s in self.things)]
        return [
            *(End(e.hole, e.what, e.frame.within(frame), e.across_flats_mm, e.height_mm, e.tip_mm) for e in self.hung),
            *self.old,
        ], around


def _end(hole: str, word: str, centre: Vector, normal: Vector, metal_mm: float) -> End:
    size = fastener(word)
    on = plus(centre, normal, metal_mm + washer_thickness_mm(size.size))
    return End(hole, "head", Frame.toward(on, normal, _ALONG), size.head_across_flats_mm, size.head_height_mm, 0.0)
