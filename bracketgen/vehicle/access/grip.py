"""Whether a hand or a strap wrench gets around what it has to unscrew."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

from bracketgen.findings import Finding, Level
from bracketgen.geometry.space import Frame, Vector, dot, length, minus, plus, unit
from bracketgen.rules.engine import NO_SOURCE, short_of
from bracketgen.rules.in_place import HAND_ROOM
from bracketgen.standards.hand_tools import tool_room_mm
from bracketgen.vehicle.access.access import limiting, prepared, within_reach
from bracketgen.vehicle.access.spanners import FULL, End, free_sectors, strap_shape
from bracketgen.vehicle.near.clearance import move_words, spot
from bracketgen.vehicle.near.envelope import STILL, Mine, Named, Parting, least_gap, smallest_move
from bracketgen.vehicle.near.scene import PART, Role, Scene, Standing
from bracketgen.vehicle.near.solids import Drum, solids_of
from bracketgen.vehicle.site import CylinderTable, Thing

#: Rows of the table of rooms: around the grip, and along the thing.
_ROOMS: Final = {"hand": ("hand room", "hand length"), "strap wrench": ("strap room", "strap length")}


@dataclass(frozen=True, slots=True)
class Grip:
    """A stretch of a cylinder that is gripped `by` something, and the room it needs beyond the skin, mm."""

    by: str
    skin: Drum
    room_mm: float

    def ring(self, room_mm: float | None = None) -> Drum:
        """The skin with room around it, flat at its ends; left out: all that is needed."""
        return replace(self.skin, radius=self.skin.radius + (self.room_mm if room_mm is None else room_mm))


def grip_of(thing: Thing, frame: Frame) -> Grip | None:
    """The grip on a thing as it stands in `frame`; None where none is said.

    Without a place of its own it begins at the end that comes out first.
    """
    if not isinstance(thing, CylinderTable) or thing.grip is None or thing.removal is None:
        return None
    (drum,) = solids_of(thing, frame)
    assert isinstance(drum, Drum)
    way = frame.direction(thing.removal)
    first, last = (drum.a, drum.b) if dot(minus(drum.a, drum.b), way) > 0.0 else (drum.b, drum.a)
    whole = length(minus(last, first))
    room, along = (tool_room_mm(row) for row in _ROOMS[thing.grip])
    along = min(along, whole)
    start = 0.0 if thing.grip_at is None else max(0.0, min(thing.grip_at - along / 2, whole - along))
    inward = unit(minus(last, first))
    return Grip(thing.grip, Drum(plus(first, inward, start), plus(first, inward, start + along), drum.radius), room)


#: The room that there is is found this closely, mm.
_EXACT_MM: Final = 1e-3


@dataclass(frozen=True, slots=True)
class Crowded:
    """Something stands in the room of what grips a thing: `room_mm` are left beside the skin, at `at`."""

    thing: Standing
    grip: Grip
    stopped_by: str
    piece: str
    room_mm: float
    at: Vector
    move: Vector | None


@dataclass(frozen=True, slots=True)
class Cramped:
    """A strap wrench that gets around, but whose handle can't swing: its widest swing, and what is in the way."""

    thing: Standing
    swing_deg: float
    needed_deg: float
    in_the_way: tuple[str, ...]


def crowded(scene: Scene) -> tuple[Crowded, ...]:
    """Everything in the room around a grip, before what is gripped has moved.

    Old neighbours that stand in each other's room are not the part's doing and are left out.
    """
    found = []
    for thing, grip in _gripped(scene):
        for name, pieces in scene.beside(thing, (), fellows=True):
            one = _crowded(thing, grip, name, pieces)
            if one is not None:
                found.append(one)
    return tuple(found)


def cramped(scene: Scene) -> tuple[Cramped, ...]:
    """Every strap wrench whose handle can't swing to the next pull."""
    found = []
    for thing, grip in _gripped(scene):
        if grip.by != "strap wrench":
            continue
        axis = unit(minus(grip.skin.a, grip.skin.b))
        end = End(thing.title, "grip", Frame.toward(grip.skin.b, axis, (1.0, 0.0, 0.0)), 2 * grip.skin.radius, 0.0, 0.0)
        shape = strap_shape(grip.ring())
        near = within_reach(end, shape, [p for _, pieces in scene.beside(thing, (), fellows=True) for p in pieces])
        sectors = free_sectors(end, shape, prepared(near)) if near else (FULL,)
        widest = max((s.wide_deg for s in sectors), default=0.0)
        if short_of(widest, shape.swing_deg):
            found.append(Cramped(thing, widest, shape.swing_deg, limiting(end, shape, near)))
    return tuple(found)


def _gripped(scene: Scene) -> Iterator[tuple[Standing, Grip]]:
    for thing in scene.things:
        frame = scene.placed.carried if thing.role is Role.CARRIED else Frame()
        grip = grip_of(thing.table, frame) if frame is not None else None
        if grip is not None:
            yield thing, grip


def _crowded(thing: Standing, grip: Grip, name: str, pieces: list[Named]) -> Crowded | None:
    mine = Mine.of(pieces)
    least = least_gap(mine, [("", (grip.ring(),))])
    if least is None or not short_of(least.gap.mm, 0.0):
        return None
    move = smallest_move(Parting(mine, [("", (grip.ring(),))], STILL, 0.0))
    return Crowded(thing, grip, name, least.mine, _room_mm(mine, grip), least.gap.here, move)


def _room_mm(mine: Mine, grip: Grip) -> float:
    """The widest ring around the skin that nothing stands in."""
    low, high = 0.0, grip.room_mm
    while high - low > _EXACT_MM:
        middle = (low + high) / 2
        least = least_gap(mine, [("", (grip.ring(middle),))])
        if least is None or least.gap.mm >= 0.0:
            low = middle
        else:
            high = middle
    return low


def grip_findings(scene: Scene) -> Iterator[Finding]:
    """Rule hand-room."""
    yield from (crowded_finding(one) for one in crowded(scene))
    for tight in cramped(scene):
        remedy = (
            f"the handle of the strap wrench swings {tight.swing_deg:.0f} degrees, the next pull takes "
            f"{tight.needed_deg:.0f}: {', '.join(tight.in_the_way)} in the way; grip it elsewhere (grip_at = ...), or "
            "move what is in the way"
        )
        yield HAND_ROOM.finding(
            Level.FAIL, tight.thing.title, tight.swing_deg, tight.needed_deg, None, remedy, unit="deg"
        )


def crowded_finding(one: Crowded) -> Finding:
    """Something in the room of the hand, in words."""
    what = one.piece if one.stopped_by == PART else f"'{one.stopped_by}'"
    remedy = (
        f"{what} stands in the room of the {one.grip.by} that unscrews it at {spot(one.at)}: "
        f"{move_words(one.stopped_by, one.move)}, or grip it elsewhere (grip_at = ...)"
    )
    return HAND_ROOM.finding(Level.FAIL, one.thing.title, one.room_mm, one.grip.room_mm, None, remedy, NO_SOURCE)
