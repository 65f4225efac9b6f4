"""Hexagons of bolts, the tools on them as solids, and where around a bolt a handle can stand and swing."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from bracketgen.geometry.plane import cos_sin_deg
from bracketgen.geometry.space import Frame, Vector, dot, length, minus, scaled
from bracketgen.standards.fasteners import Fastener, fastener
from bracketgen.standards.hand_tools import Socket, Spanner, socket, spanner, tool_room_mm, tool_swing
from bracketgen.vehicle.near.gap import Bodies, mm_at
from bracketgen.vehicle.near.solids import Block, Capsule, Drum, Solid
from bracketgen.vehicle.seating.bolts import BoltSolids

#: Names of the hardware's solids that a tool grips.
_HEXAGONS: Final = ("head", "nut", "head behind")


@dataclass(frozen=True, slots=True)
class End:
    """One hexagon, mm: `what` is 'head', 'nut' or 'head behind'.

    `frame` stands on the face that the hexagon lies on (its washer's), z along the bolt out toward the tool; angles
    count from its x, anticlockwise as the one with the tool sees it. `tip_mm` of thread look out of a nut.
    """

    hole: str
    what: str
    frame: Frame
    across_flats_mm: float
    height_mm: float
    tip_mm: float

    @property
    def title(self) -> str:
        """How findings call it."""
        return f"{self.what} of {self.hole}"


def ends_of(bolt: BoltSolids, x: Vector) -> tuple[End, ...]:
    """The hexagons of a bolt: one where a thread or rivet nut holds the other end, else two.

    `x` is the direction from which angles count, as near as it can lie square to the bolt.
    """
    size, axis = fastener(bolt.bolt.size), bolt.bolt.axis
    over = [_hexagon(bolt.bolt.part_hole, n, d, axis, x, size, 0.0) for n, d in bolt.over if n in _HEXAGONS]
    tip = next((length(minus(d.b, d.a)) for n, d in bolt.behind if n == "tip"), 0.0)
    back = scaled(axis, -1.0)
    behind = [_hexagon(bolt.bolt.part_hole, n, d, back, x, size, tip) for n, d in bolt.behind if n in _HEXAGONS]
    return (*over, *behind)


def _hexagon(hole: str, what: str, drum: Drum, out: Vector, x: Vector, size: Fastener, tip: float) -> End:
    low = min((drum.a, drum.b), key=lambda p: dot(p, out))
    flats = size.nut_across_flats_mm if what == "nut" else size.head_across_flats_mm
    return End(hole, what, Frame.toward(low, out, x), flats, length(minus(drum.b, drum.a)), tip)


# -- tools as solids: what turns with the hexagon stays round, the handle swings


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
    bar = _bar(0.0, far, width, low, low + thick)
    # Fingers lie on top of a handle that is flat on the work.
    hand = _bar(far - grip, far, fingers, low, low + thick + 2 * fingers)
    name = f"{Tool.OPEN_END} {end.across_flats_mm:g} mm"
    handle = (bar, hand)
    return ToolShape(Tool.OPEN_END, name, (head,), handle, tool_swing("open end").swing_deg, _reach(handle))


def _bar(start: float, stop: float, half_width: float, low: float, high: float) -> Block:
    frame = Frame(((start + stop) / 2, 0.0, (low + high) / 2))
    return Block(frame, ((stop - start) / 2, half_width, (high - low) / 2))


def _socket(end: End, held: Socket, bar_mm: float) -> ToolShape:
    # It goes on and comes off along the bolt: everything above is lifted by the hexagon and its tip.
    lift = end.height_mm + end.tip_mm
    top = held.length_mm + (lift if bar_mm == 0.0 else 0.0)
    pieces = [Drum((0.0, 0.0, 0.0), (0.0, 0.0, top), held.room_mm / 2)]
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


# -- where around a bolt a handle can stand and swing


#: Directions looked at first, degrees apart.
_FIRST_STEP_DEG: Final = 10.0
#: The ends of a sector are found this closely, on the safe side.
EXACT_DEG: Final = 0.05


@dataclass(frozen=True, slots=True)
class Sector:
    """Directions in which the handle is free, degrees; `stop_deg` is above `start_deg`, at most by 360."""

    start_deg: float
    stop_deg: float

    @property
    def wide_deg(self) -> float:
        """How far the handle swings."""
        return self.stop_deg - self.start_deg


FULL: Final = Sector(0.0, 360.0)


def turned(frame: Frame, angle_deg: float) -> Frame:
    """The frame turned about its own z."""
    c, s = cos_sin_deg(angle_deg)
    return Frame((0.0, 0.0, 0.0), (c, s, 0.0), (-s, c, 0.0)).within(frame)


def handle_gaps(
    end: End, handle: Sequence[Solid], obstacles: Bodies, angles_deg: Sequence[float], *, depths: bool = False
) -> list[float]:
    """The gap between the handle and what is in its way at each angle, mm.

    Where they meet it is -inf, or below 0 by how deep they meet when the depths are measured (slower).
    """
    return mm_at(obstacles, handle, [turned(end.frame, a) for a in angles_deg], depths=depths)


def swing_steps(shape: ToolShape, step_deg: float) -> int:
    """How many directions, so many degrees apart, the swing to the next grip takes."""
    return math.ceil(shape.swing_deg / step_deg - 1e-9) + 1


def swings(end: End, shape: ToolShape, obstacles: Bodies, step_deg: float, *, depths: bool = False) -> list[float]:
    """The room of the whole swing that begins at each direction, so many degrees apart, mm; see `handle_gaps`."""
    count, wide = round(360.0 / step_deg), swing_steps(shape, step_deg)
    gaps = handle_gaps(end, shape.handle, obstacles, [i * step_deg for i in range(count)], depths=depths)
    return [min(gaps[(i + k) % count] for k in range(wide)) for i in range(count)]


def free_sectors(end: End, shape: ToolShape, obstacles: Bodies) -> tuple[Sector, ...]:
    """All sectors in which the handle is free, in order.

    Between two directions the handle is known to be free when both gaps together exceed what its end travels; else the
    middle is looked at too. A free sector narrower than 10 degrees between two blocked directions may be missed.
    """
    if not obstacles.solids:
        return (FULL,)
    known = _looked_at(end, shape, obstacles)
    angles = sorted(known)
    free = [(a, b) for a, b in zip(angles, [*angles[1:], angles[0] + 360.0], strict=True)
            if known[a] > 0.0 and known[b % 360.0] > 0.0]  # fmt: skip
    return _joined(free)


def _looked_at(end: End, shape: ToolShape, obstacles: Bodies) -> dict[float, float]:
    count = round(360.0 / _FIRST_STEP_DEG)
    start = [i * _FIRST_STEP_DEG for i in range(count)]
    known = dict(zip(start, handle_gaps(end, shape.handle, obstacles, start), strict=True))
    pending = [(a, a + _FIRST_STEP_DEG) for a in start]
    while pending:
        middles = {(a + b) / 2: (a, b) for a, b in pending if _open_question(known, a, b, shape.reach_mm)}
        if not middles:
            break
        gaps = handle_gaps(end, shape.handle, obstacles, list(middles))
        known |= dict(zip(middles, gaps, strict=True))
        pending = [half for m, (a, b) in middles.items() for half in ((a, m), (m, b))]
    return known


def _open_question(known: dict[float, float], a: float, b: float, reach_mm: float) -> bool:
    here, there = known[a], known[b % 360.0]
    if b - a <= EXACT_DEG or (here <= 0.0 and there <= 0.0):
        return False
    return min(here, there) <= 0.0 or here + there <= reach_mm * math.radians(b - a)


def _joined(free: Sequence[tuple[float, float]]) -> tuple[Sector, ...]:
    sectors: list[Sector] = []
    for a, b in free:
        if sectors and abs(sectors[-1].stop_deg - a) < 1e-9:
            sectors[-1] = Sector(sectors[-1].start_deg, b)
        else:
            sectors.append(Sector(a, b))
    if len(sectors) > 1 and sectors[0].start_deg == 0.0 and sectors[-1].stop_deg == 360.0:
        sectors = [*sectors[1:-1], Sector(sectors[-1].start_deg, 360.0 + sectors[0].stop_deg)]
    return tuple(sectors)
