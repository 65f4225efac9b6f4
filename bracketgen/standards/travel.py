"""How far bodies of a vehicle move on their mounts."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from bracketgen.standards.table import LookupFault, load_table, number


@dataclass(frozen=True, slots=True)
class BodyTravel:
    """Travel to either side along each axis, mm."""

    body: str
    travel_mm: float
    source: str
    how: str


@cache
def body_travel(body: str) -> BodyTravel:
    """The usual travel of a body. Raises LookupFault for a body that the table does not hold."""
    rows = load_table("travel").rows
    for row in rows:
        if row["body"] == body.strip().casefold():
            return BodyTravel(row["body"], number(row, "travel_mm"), row["source"], row["how"])
    raise LookupFault("body", body, [row["body"] for row in rows])
