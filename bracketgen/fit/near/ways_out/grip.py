"""Where a hand or a strap wrench grips what it unscrews, and the room it needs all around there."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from bracketgen.fit.near.clearance_solids import solids_of
from bracketgen.fit.near.gaps.solids import Drum
from bracketgen.fit.site.tables import CylinderTable, Thing
from bracketgen.geometry.frame import Frame
from bracketgen.geometry.vector import dot, length, minus, plus, unit
from bracketgen.standards.hand_tools import tool_room_mm

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
