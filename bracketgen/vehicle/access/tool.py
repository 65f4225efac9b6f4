"""Tools as solids on a hexagon: what turns with it stays round, the handle swings."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from bracketgen.geometry.space import Frame, length, minus
from bracketgen.standards.hand_tools import Socket, Spanner, socket, spanner, tool_room_mm, tool_swing
from bracketgen.vehicle.access.end import End
from bracketgen.vehicle.near.gaps.solids import Block, Capsule, Drum, Solid

#: How far a ring's handle rises from the ring, degrees: 15 degrees for room over the work; US Navy training course
#: 14001, chapter 1.
RISE_DEG: Final = 15.0
_EXTENSIONS: Final = ("extension short", "extension middle", "extension long")


class Tool(StrEnum):
    """What turns or holds a hexagon."""

    RING = "ring spanner"
    OPEN_END = "open-end spanner"
    SOCKET = "socket"
    STRAP = "strap wrench"


@dataclass(frozen=True, slots=True)
class ToolShape:
    """A tool on its hexagon, in the frame of the End, mm: `round` turns on the spot, `handle` points along x.

    The round part includes the room to lift it off again. `swing_deg` it must swing to take its next grip.
    """

    tool: Tool
    name: str
    round: tuple[Solid, ...]
    handle: tuple[Solid, ...]
    swing_deg: float
    reach_mm: float


def tool_shapes(end: End) -> tuple[ToolShape, ...]:
    """Ring, open end, and the socket: bare and on longer and longer extensions.

    Raises LookupFault for a hexagon wider than 46 mm.
    """
    size, held = spanner(end.across_flats_mm), socket(end.across_flats_mm)
    bars = (0.0, *(tool_room_mm(e) for e in _EXTENSIONS))
    return (_ring(end, size), _open_end(end, size), *(_socket(end, held, bar) for bar in bars))


def _ring(end: End, size: Spanner) -> ToolShape:
    thick = size.ring_thick_mm
    low = max(0.0, end.height_mm - thick)
    lift = end.height_mm + end.tip_mm - low
    ring = Drum((0.0, 0.0, low), (0.0, 0.0, low + lift + thick), size.ring_mm / 2)
    # Seated, and lifted for the next grip.
    levels = (low + thick / 2, low + thick / 2 + lift)
    handle = tuple(s for z in levels for s in _rising_handle(size, z))
    name = f"{Tool.RING} {end.across_flats_mm:g} mm"
    return ToolShape(Tool.RING, name, (ring,), handle, tool_swing("ring").swing_deg, _reach(handle))


def _rising_handle(size: Spanner, z: float) -> tuple[Solid, ...]:
    c, s = math.cos(math.radians(RISE_DEG)), math.sin(math.radians(RISE_DEG))
    radius, fingers, end = size.handle_mm / 2, tool_room_mm("finger room"), size.length_mm
    out, grip = end - radius, end - tool_room_mm("finger length")
    bar = Capsule((0.0, 0.0, z), (out * c, 0.0, z + out * s), radius)
    hand = Capsule((grip * c, 0.0, z + grip * s), ((end - fingers) * c, 0.0, z + (end - fingers) * s), fingers)
    return bar, hand


def _open_end(end: End, size: Spanner) -> ToolShape:
    thick = size.open_thick_mm
    low = max(0.0, (end.height_mm - thick) / 2)
    head = Drum((0.0, 0.0, low), (0.0, 0.0, low + thick), size.open_mm / 2)
    # It comes off sideways to be turned over: the handle then stands out farther by the width across flats.
    far = size.length_mm + end.across_flats_mm
    width, fingers, grip = size.handle_mm / 2, tool_room_mm("finger room"), tool_room_mm("finger length")
    bar = _box(0.0, far, width, low, low + thick)
    # Fingers lie on top of a handle that is flat on the work.
    hand = _box(far - grip, far, fingers, low, low + thick + 2 * fingers)
    name = f"{Tool.OPEN_END} {end.across_flats_mm:g} mm"
    handle = (bar, hand)
    return ToolShape(Tool.OPEN_END, name, (head,), handle, tool_swing("open end").swing_deg, _reach(handle))


def _box(start: float, stop: float, half_width: float, low: float, high: float) -> Block:
    frame = Frame(((start + stop) / 2, 0.0, (low + high) / 2))
    return Block(frame, ((stop - start) / 2, half_width, (high - low) / 2))


def _socket(end: End, held: Socket, bar_mm: float) -> ToolShape:
    # It goes on and comes off along the bolt: everything above is lifted by the hexagon and its tip.
    lift = end.height_mm + end.tip_mm
    top = held.length_mm + (lift if bar_mm == 0.0 else 0.0)
    pieces = [Drum((0.0, 0.0, 0.0), (0.0, 0.0, top), max(held.diameter_mm, held.drive_end_mm) / 2)]
    level = held.length_mm + bar_mm
    if bar_mm > 0.0:
        pieces.append(Drum((0.0, 0.0, held.length_mm), (0.0, 0.0, level + lift), held.drive_end_mm / 2))
    height = tool_room_mm("ratchet height")
    pieces.append(Drum((0.0, 0.0, level), (0.0, 0.0, level + lift + height), tool_room_mm("ratchet radius")))
    handle = _ratchet(level + height / 2)
    name = f"{Tool.SOCKET} {end.across_flats_mm:g} mm" + (f" on a {bar_mm:g} mm extension" if bar_mm else "")
    return ToolShape(Tool.SOCKET, name, tuple(pieces), handle, tool_swing("socket").swing_deg, _reach(handle))


def _ratchet(z: float) -> tuple[Solid, ...]:
    far, fist, grip = tool_room_mm("ratchet length"), tool_room_mm("fist room"), tool_room_mm("fist length")
    radius = tool_room_mm("ratchet radius") / 2
    bar = Capsule((0.0, 0.0, z), (far - radius, 0.0, z), radius)
    return bar, Capsule((far - grip + fist, 0.0, z), (far - fist, 0.0, z), fist)


def strap_shape(ring: Drum) -> ToolShape:
    """A strap wrench around `ring`, in a frame in the middle of the ring's far end, z along it to the near end."""
    high = length(minus(ring.b, ring.a))
    z, far = high / 2, ring.radius + tool_room_mm("strap handle")
    fist, grip, radius = tool_room_mm("fist room"), tool_room_mm("fist length"), tool_room_mm("ratchet radius") / 2
    bar = Capsule((ring.radius, 0.0, z), (far - radius, 0.0, z), radius)
    handle = (bar, Capsule((far - grip + fist, 0.0, z), (far - fist, 0.0, z), fist))
    round_ = Drum((0.0, 0.0, 0.0), (0.0, 0.0, high), ring.radius)
    return ToolShape(
        Tool.STRAP, Tool.STRAP.value, (round_,), handle, tool_swing("strap wrench").swing_deg, _reach(handle)
    )


def _reach(handle: tuple[Solid, ...]) -> float:
    """The farthest that any of it stands off the bolt's axis."""
    return max(_from_axis(s) for s in handle)


def _from_axis(solid: Solid) -> float:
    if isinstance(solid, Block):
        return math.hypot(solid.frame.origin[0] + solid.half[0], solid.half[1])
    assert isinstance(solid, Capsule)
    return math.hypot(solid.b[0], solid.b[1]) + solid.radius
