"""What rubber, plastic and wire insulation stand."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from bracketgen.standards.table import LookupFault, Row, load_table, number


@dataclass(frozen=True, slots=True)
class HeatLimit:
    """The temperature that a compound stands for long, degrees C, and on whose word."""

    compound: str
    limit_c: float
    source: str
    how: str


@cache
def heat_limit(kind: str, compound: str) -> HeatLimit:
    """The limit of a compound of 'rubber', 'plastic' or 'wire', by its name or short sign. Raises LookupFault."""
    rows = _rows(kind)
    wanted = compound.strip().casefold()
    for row in rows:
        if wanted in (word.casefold() for word in (row["compound"], *row["aliases"].split())):
            return _limit(row)
    raise LookupFault("compound", compound, [row["compound"] for row in rows])


@cache
def worst_limit(kind: str) -> HeatLimit:
    """The least of its kind: what is taken when nobody knows the compound. Raises LookupFault."""
    return min((_limit(row) for row in _rows(kind)), key=lambda limit: limit.limit_c)


def heat_kinds() -> tuple[str, ...]:
    """The kinds of matter that the table knows."""
    return tuple(dict.fromkeys(row["kind"] for row in load_table("heat_limits").rows))


def _rows(kind: str) -> list[Row]:
    rows = [row for row in load_table("heat_limits").rows if row["kind"] == kind]
    if not rows:
        raise LookupFault("kind of matter", kind, heat_kinds())
    return rows


def _limit(row: Row) -> HeatLimit:
    return HeatLimit(row["compound"], number(row, "limit_c"), row["source"], row["how"])
