"""Sockets and spanners: the room they take around a bolt, and how far they must swing."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from typing import Final

from bracketgen.standards.table import LookupFault, Row, load_table, number

#: Widths across flats this close are the same: inch widths in mm have four decimals.
_SAME_MM: Final = 0.02
#: Open ends: largest width of the head per width across flats, and what is added; ISO 3318:2016, as quoted.
_OPEN_WIDTH: Final = (2.1, 7.0)
#: Open ends: height of the head likewise; common practice, no source.
_OPEN_HEIGHT: Final = (0.3, 3.0)


@dataclass(frozen=True, slots=True)
class Socket:
    """A socket's largest outside sizes, mm: over its nut end, over its drive end, its length."""

    diameter_mm: float
    drive_end_mm: float
    length_mm: float
    drive_mm: float
    source: str
    how: str


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
class ToolSwing:
    """Degrees that a tool must swing to take its next grip on a hexagon."""

    swing_deg: float
    source: str
    how: str


@cache
def socket(across_flats_mm: float) -> Socket:
    """The socket for a width across flats, 5.5 to 46 mm: of the next larger row. Raises LookupFault beyond."""
    for row in load_table("sockets").rows:
        if number(row, "across_flats_mm") >= across_flats_mm - _SAME_MM:
            return _socket(row)
    raise _too_wide("socket", across_flats_mm)


def _socket(row: Row) -> Socket:
    nut_end, drive_end = number(row, "diameter_mm"), number(row, "drive_end_mm")
    return Socket(nut_end, drive_end, number(row, "length_mm"), number(row, "drive_mm"), row["source"], row["how"])


@cache
def spanner(across_flats_mm: float) -> Spanner:
    """The spanner for a width across flats, to 46 mm: straight between two rows, the smallest below them.

    Raises LookupFault beyond.
    """
    rows = load_table("spanners").rows
    lower, upper, share = _between(rows, across_flats_mm)

    def size(column: str) -> float:
        return number(lower, column) + share * (number(upper, column) - number(lower, column))

    wide, high = _OPEN_WIDTH, _OPEN_HEIGHT
    return Spanner(
        size("ring_mm"),
        size("ring_thick_mm"),
        wide[0] * across_flats_mm + wide[1],
        high[0] * across_flats_mm + high[1],
        size("length_mm"),
        size("handle_mm"),
    )


def _between(rows: tuple[Row, ...], across_flats_mm: float) -> tuple[Row, Row, float]:
    for lower, upper in pairwise(rows):
        a, b = number(lower, "across_flats_mm"), number(upper, "across_flats_mm")
        if across_flats_mm <= b + _SAME_MM:
            share = (across_flats_mm - a) / (b - a)
            # The mm of an inch width may be rounded: on a row means on it.
            near = [s for s in (0.0, 1.0) if abs(share - s) * (b - a) < _SAME_MM]
            return lower, upper, near[0] if near else max(0.0, share)
    raise _too_wide("spanner", across_flats_mm)


def _too_wide(what: str, across_flats_mm: float) -> LookupFault:
    return LookupFault(what, f"{across_flats_mm:g} mm across flats", reason="the table ends at 46 mm")


@cache
def tool_swing(tool: str) -> ToolSwing:
    """The swing of 'ring', 'open end', 'open end not turned over' or 'socket'. Raises LookupFault."""
    rows = load_table("tool_swings").rows
    for row in rows:
        if row["tool"] == tool:
            return ToolSwing(number(row, "swing_deg"), row["source"], row["how"])
    raise LookupFault("tool", tool, [row["tool"] for row in rows])


@cache
def tool_room_mm(what: str) -> float:
    """Room for hand, ratchet or extension by the table's word, mm; common practice, no source. Raises LookupFault."""
    rows = load_table("tool_room").rows
    for row in rows:
        if row["what"] == what:
            return number(row, "room_mm")
    raise LookupFault("tool room", what, [row["what"] for row in rows])
