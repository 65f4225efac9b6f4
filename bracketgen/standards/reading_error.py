"""How far a reading with a tape, a calliper, a straight edge ... may be off."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from functools import cache

from bracketgen.standards.table import LookupFault, Row, load_table, number_or_none


class Gives(StrEnum):
    """What a tool's scale shows."""

    MM = "mm"
    DEG = "deg"


@dataclass(frozen=True, slots=True)
class ReadingError:
    """One standard deviation of a reading, in the unit that the tool gives (mm or degrees)."""

    sigma: float
    unit: Gives
    source: str
    how: str


@cache
def measuring_tools() -> tuple[str, ...]:
    """All tools that the table holds."""
    return tuple(row["tool"] for row in load_table("reading_errors").rows)


def tool_gives(tool: str) -> Gives:
    """What a tool's scale shows. Raises LookupFault for an unknown tool."""
    return Gives(_row(tool)["gives"])


def reading_error(tool: str, length_mm: float = 0.0) -> ReadingError:
    """One standard deviation of a reading of `length_mm` (0 and more; nothing to angles) with a tool.

    sigma^2 = setting^2 + limit^2 / 3, the limit growing with the length. Source: the reading_errors table.
    Raises LookupFault for an unknown tool.
    """
    row = _row(tool)
    unit = Gives(row["gives"])
    setting = number_or_none(row, f"setting_{unit}") or 0.0
    limit = number_or_none(row, "limit_mm") or 0.0
    step = number_or_none(row, "length_step_m")
    metres = length_mm / 1000.0
    counted = math.ceil(metres / step) * step if step else metres
    limit += (number_or_none(row, "limit_per_m_mm") or 0.0) * counted
    return ReadingError(math.sqrt(setting**2 + limit**2 / 3.0), unit, row["source"], row["how"])


@cache
def _row(tool: str) -> Row:
    for row in load_table("reading_errors").rows:
        if row["tool"] == tool.strip().casefold():
            return row
    raise LookupFault("measuring tool", tool, measuring_tools())
