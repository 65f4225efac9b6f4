"""Sockets and spanners: the room they take around a bolt, and how far they must swing."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from typing import Final

from bracketgen.standards.table import LookupFault, row_named, rows

#: Widths across flats this close are the same: inch widths in mm have four decimals.
_SAME_MM: Final = 0.02
#: Open ends: largest width of the head per width across flats, and what is added; ISO 3318:2016, as quoted.
_OPEN_WIDTH: Final = (2.1, 7.0)
#: Open ends: height of the head likewise; common practice, no source.
_OPEN_HEIGHT: Final = (0.3, 3.0)


@dataclass(frozen=True, slots=True)
class Socket:
    """A socket's largest outside sizes, mm: over its nut end, over its drive end, its length.

    `free_mm` is the diameter around the bolt that takes every hand socket; None where none is printed.
    """

    across_flats_mm: float
    free_mm: float | None
    diameter_mm: float
    drive_end_mm: float
    length_mm: float
    drive_mm: float
    source: str
    how: str
    from_memory: tuple[str, ...]

    @property
    def room_mm(self) -> float:
        """The diameter that must be free around the bolt: the printed one, and no less than the drive end takes."""
        return max(self.free_mm or self.diameter_mm, self.drive_end_mm)


@cache
def socket(across_flats_mm: float) -> Socket:
    """The socket for a width across flats, 5.5 to 46 mm: of the next larger row. Raises LookupFault beyond."""
    for one in rows("sockets", Socket):
        if one.across_flats_mm >= across_flats_mm - _SAME_MM:
            return one
    raise _too_wide("socket", across_flats_mm)


@dataclass(frozen=True, slots=True)
class Spanner:
    """A spanner's ring and open end, mm; `length_mm` runs from the middle of the head to that of the other end."""

    ring_mm: float
    ring_thick_mm: float
    open_mm: float
    open_thick_mm: float
    length_mm: float
    handle_mm: float


@dataclass(frozen=True, slots=True)
class _RingSpanner:
    across_flats_mm: float
    ring_mm: float
    ring_thick_mm: float
    length_mm: float
    handle_mm: float


@cache
def spanner(across_flats_mm: float) -> Spanner:
    """The spanner for a width across flats, to 46 mm: straight between two rows, the smallest below them.

    Raises LookupFault beyond.
    """
    lower, upper, share = _between(across_flats_mm)

    def between(a: float, b: float) -> float:
        return a + share * (b - a)

    return Spanner(
        between(lower.ring_mm, upper.ring_mm),
        between(lower.ring_thick_mm, upper.ring_thick_mm),
        _OPEN_WIDTH[0] * across_flats_mm + _OPEN_WIDTH[1],
        _OPEN_HEIGHT[0] * across_flats_mm + _OPEN_HEIGHT[1],
        between(lower.length_mm, upper.length_mm),
        between(lower.handle_mm, upper.handle_mm),
    )


def _between(across_flats_mm: float) -> tuple[_RingSpanner, _RingSpanner, float]:
    for lower, upper in pairwise(rows("spanners", _RingSpanner)):
        step = upper.across_flats_mm - lower.across_flats_mm
        if across_flats_mm <= upper.across_flats_mm + _SAME_MM:
            share = (across_flats_mm - lower.across_flats_mm) / step
            # The mm of an inch width may be rounded: on a row means on it.
            near = [s for s in (0.0, 1.0) if abs(share - s) * step < _SAME_MM]
            return lower, upper, near[0] if near else max(0.0, share)
    raise _too_wide("spanner", across_flats_mm)


def _too_wide(what: str, across_flats_mm: float) -> LookupFault:
    return LookupFault(what, f"{across_flats_mm:g} mm across flats", reason="the table ends at 46 mm")


@dataclass(frozen=True, slots=True)
class ToolSwing:
    """Degrees that a tool must swing to take its next grip on a hexagon."""

    tool: str
    swing_deg: float
    source: str
    how: str


@cache
def tool_swing(tool: str) -> ToolSwing:
    """The swing of 'ring', 'open end', 'open end not turned over' or 'socket'. Raises LookupFault."""
    return row_named("tool", tool, rows("tool_swings", ToolSwing), "tool")


@dataclass(frozen=True, slots=True)
class _ToolRoom:
    what: str
    room_mm: float


@cache
def tool_room_mm(what: str) -> float:
    """Room for hand, ratchet or extension by the table's word, mm; common practice, no source. Raises LookupFault."""
    return row_named("tool room", what, rows("tool_room", _ToolRoom), "what").room_mm
