"""Which tool gets onto each bolt and nut of a part in its place, and how far it swings there."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from bracketgen.geometry.space import Frame, Vector, dot, length, minus
from bracketgen.vehicle.access.spanners import (
    FULL,
    End,
    Sector,
    ToolShape,
    ends_of,
    free_sectors,
    swing_steps,
    swings,
    tool_shapes,
    turned,
)
from bracketgen.vehicle.near.envelope import Named
from bracketgen.vehicle.near.gap import Bodies, gaps_at, least_gaps, mm_at
from bracketgen.vehicle.near.scene import Scene
from bracketgen.vehicle.near.solids import Drum, Gap3, Solid, Wall, ball_around


@dataclass(frozen=True, slots=True)
class ToolTry:
    """One tool on one hexagon: `seat` the gap of its round part (None: nothing is near), where its handle is free.

    `in_the_way` names what the round part meets, else everything that takes some of the swing.
    """

    shape: ToolShape
    seat: Gap3 | None
    sectors: tuple[Sector, ...]
    in_the_way: tuple[str, ...]

    @property
    def seats(self) -> bool:
        """Whether it gets onto the hexagon."""
        return self.seat is None or self.seat.mm > 0.0

    @property
    def widest(self) -> Sector | None:
        """The widest free sector."""
        return max(self.sectors, key=lambda s: s.wide_deg, default=None)

    @property
    def holds(self) -> bool:
        """Whether it can hold the hexagon while the other end is turned."""
        return self.seats and bool(self.sectors)

    @property
    def turns(self) -> bool:
        """Whether it can turn the hexagon."""
        return self.seats and self.widest is not None and self.widest.wide_deg >= self.shape.swing_deg


@dataclass(frozen=True, slots=True)
class EndAccess:
    """All tools on one hexagon, and what stands near it."""

    end: End
    tries: tuple[ToolTry, ...]
    obstacles: tuple[Named, ...]

    @property
    def turned_by(self) -> ToolTry | None:
        """The first tool that turns it."""
        return next((t for t in self.tries if t.turns), None)

    @property
    def held_by(self) -> ToolTry | None:
        """The first tool that holds it; one that could turn it goes first."""
        return self.turned_by or next((t for t in self.tries if t.holds), None)


@dataclass(frozen=True, slots=True)
class BoltAccess:
    """One bolt: a hexagon to turn, and the other to be held unless a thread or rivet nut holds it."""

    hole: str
    ends: tuple[EndAccess, ...]

    @property
    def fits(self) -> bool:
        """Whether the bolt can be done up."""
        return any(e.turned_by is not None for e in self.ends) and all(e.held_by is not None for e in self.ends)


def bolt_accesses(scene: Scene, *, every_tool: bool = True) -> tuple[BoltAccess, ...]:
    """Every bolt of the placed part against the part, the other bolts, what is carried and the neighbours, all cold.

    Raises LookupFault for hexagons wider than 46 mm.
    """
    found = []
    for bolt in scene.bolts:
        x = scene.placed.folded.frames[bolt.bolt.panel].within(scene.placed.frame).x
        # All that may be in the way: everything but the bolt itself.
        around = scene.part_solids(without=bolt.bolt.part_hole)
        around += [(t.title, s) for t in scene.things for s in t.solids]
        found.append(
            BoltAccess(
                bolt.bolt.part_hole, tuple(end_access(e, around, every_tool=every_tool) for e in ends_of(bolt, x))
            )
        )
    return tuple(found)


def end_access(end: End, obstacles: Sequence[Named], *, every_tool: bool = True) -> EndAccess:
    """The tools on one hexagon: all, or only the first that turns it. Raises LookupFault for one wider than 46 mm."""
    near = tuple(obstacles)
    for shape in () if every_tool else tool_shapes(end):
        # What stands in the way is not asked for while another tool may do.
        tried = tool_try(end, shape, near, blame=False)
        if tried.turns:
            return EndAccess(end, (tried,), near)
    return EndAccess(end, tuple(tool_try(end, shape, near) for shape in tool_shapes(end)), near)


def tool_try(end: End, shape: ToolShape, obstacles: Sequence[Named], *, blame: bool = True) -> ToolTry:
    """One tool on one hexagon; `blame` asks for the names of what is in its way."""
    near = within_reach(end, shape, obstacles)
    if not near:
        return ToolTry(shape, None, (FULL,), ())
    ready = prepared(near)
    seat = gaps_at(ready, shape.round, (end.frame,))[0]
    assert seat is not None
    if seat.mm <= 0.0:
        return ToolTry(shape, seat, (), _touched(end, shape.round, near) if blame else ())
    sectors = free_sectors(end, shape, ready)
    free = max((s.wide_deg for s in sectors), default=0.0) >= shape.swing_deg
    return ToolTry(shape, seat, sectors, limiting(end, shape, near) if blame and not free else ())


def limiting(end: End, shape: ToolShape, near: Sequence[Named]) -> tuple[str, ...]:
    """Names of things that take some directions from the handle, the one that takes most first."""
    left = {}
    for name in dict.fromkeys(n for n, _ in near):
        alone = free_sectors(end, shape, prepared([(n, s) for n, s in near if n == name]))
        left[name] = sum(s.wide_deg for s in alone)
    return tuple(sorted((n for n in left if left[n] < FULL.wide_deg), key=lambda n: left[n]))


def _touched(end: End, solids: Sequence[Solid], near: Sequence[Named]) -> tuple[str, ...]:
    gaps = ((name, gaps_at(Bodies.of([s]), solids, (end.frame,), depths=False)[0]) for name, s in near)
    return tuple(dict.fromkeys(name for name, gap in gaps if gap is not None and gap.mm <= 0.0))


def prepared(named: Sequence[Named]) -> Bodies:
    """Obstacles ready for many questions; several solids may share a name."""
    return Bodies.of([s for _, s in named])


def within_reach(end: End, shape: ToolShape, obstacles: Sequence[Named], more_mm: float = 0.0) -> list[Named]:
    """Those that a ball around the tool in all its directions comes near."""
    middle, radius = _ball(end, shape)
    found = []
    for name, solid in obstacles:
        around = ball_around(solid)
        if around is not None:
            apart = length(minus(around[0], middle)) - around[1]
        else:
            assert isinstance(solid, Wall)
            apart = dot(minus(middle, solid.point), solid.normal)
        if apart <= radius + more_mm:
            found.append((name, solid))
    return found


def _ball(end: End, shape: ToolShape) -> tuple[Vector, float]:
    """Around the whole tool, however it is turned."""
    top = max(d.b[2] for d in shape.round if isinstance(d, Drum))
    balls = [b for b in (ball_around(s) for s in (*shape.round, *shape.handle)) if b is not None]
    middle = (0.0, 0.0, top / 2)
    return end.frame.point(middle), max(length(minus(c, middle)) + r for c, r in balls)


# -- how much room the best tool has to spare


#: Directions that a margin looks at, degrees apart.
_STEP_DEG: Final = 15.0
#: A margin need not be known beyond this, mm.
FAR_MM: Final = 1000.0


@dataclass(frozen=True, slots=True)
class Spare:
    """The room to spare, mm (below 0: no tool fits), with which tool, its swing beginning at `start_deg`."""

    mm: float
    shape: ToolShape
    start_deg: float


def most_spare(end: End, obstacles: Sequence[Named], enough_mm: float = FAR_MM) -> Spare:
    """The tool and swing with the most room to spare around them. The swing is looked at every 15 degrees.

    No more than `enough_mm` is looked for: that much is returned for more. Raises LookupFault beyond 46 mm.
    """
    best: Spare | None = None
    for shape in tool_shapes(end):
        found = _spare(end, shape, obstacles, -math.inf if best is None else best.mm, enough_mm)
        if best is None or found.mm > best.mm:
            best = found
        if best.mm >= enough_mm:
            break
    assert best is not None
    return best


def still_spare(known: Sequence[tuple[End, Spare]], obstacles: Sequence[Named], enough_mm: float) -> bool:
    """Whether on every hexagon the same tool in the same swing has `enough_mm` among these obstacles too.

    All are asked together, which is quicker than `most_spare` for each.
    """
    if not obstacles or not known:
        return True
    solids: list[Solid] = []
    moves: list[tuple[Frame, ...]] = []
    for end, spare in known:
        swing = tuple(
            turned(end.frame, spare.start_deg + k * _STEP_DEG) for k in range(swing_steps(spare.shape, _STEP_DEG))
        )
        solids += [*spare.shape.round, *spare.shape.handle]
        moves += [(end.frame,)] * len(spare.shape.round) + [swing] * len(spare.shape.handle)
    asked = [(i, j, 0) for i in range(len(obstacles)) for j in range(len(solids))]
    found = least_gaps(prepared(obstacles), Bodies.of(solids, moves), asked, 1, depths=False)
    return found[0] is None or found[0].mm >= enough_mm


def _spare(end: End, shape: ToolShape, obstacles: Sequence[Named], above_mm: float, enough_mm: float) -> Spare:
    near = within_reach(end, shape, obstacles, enough_mm)
    if not near:
        return Spare(enough_mm, shape, 0.0)
    ready = prepared(near)
    seat = mm_at(ready, shape.round, (end.frame,), depths=True)[0]
    if seat <= above_mm:
        return Spare(seat, shape, 0.0)
    swing, start = _widest_swing(end, shape, ready)
    return Spare(min(seat, swing, enough_mm), shape, start)


def _widest_swing(end: End, shape: ToolShape, ready: Bodies) -> tuple[float, float]:
    """The most room that a whole swing has, and where it begins."""
    best = (-math.inf, 0.0)
    # How deep a handle meets things only matters where no swing is free.
    for depths in (False, True):
        rooms = swings(end, shape, ready, _STEP_DEG, depths=depths)
        best = max((mm, i * _STEP_DEG) for i, mm in enumerate(rooms))
        if math.isfinite(best[0]):
            break
    return best
