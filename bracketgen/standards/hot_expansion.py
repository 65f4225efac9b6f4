"""How far the metals of hot pipes grow."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from bracketgen.standards.table import LookupFault, load_table, number


@dataclass(frozen=True, slots=True)
class HotExpansion:
    """Mean expansion per kelvin from room temperature to `to_c` degrees C."""

    metal: str
    per_k: float
    to_c: float
    source: str
    how: str


@cache
def hot_expansion(metal: str) -> HotExpansion:
    """The mean expansion of a pipe metal, by its name ('steel', '304', '430'). Raises LookupFault."""
    wanted = metal.strip().casefold().replace(" ", "-")
    for row in load_table("hot_expansion").rows:
        if wanted in (word.casefold() for word in (row["metal"], *row["aliases"].split())):
            return _of(dict(row))
    raise LookupFault("pipe metal", metal, [row["metal"] for row in load_table("hot_expansion").rows])


@cache
def worst_expansion() -> HotExpansion:
    """The greatest of the table: what is taken when nobody knows the metal."""
    return max((_of(dict(row)) for row in load_table("hot_expansion").rows), key=lambda e: e.per_k)


def _of(row: dict[str, str]) -> HotExpansion:
    return HotExpansion(row["metal"], number(row, "expansion_per_k"), number(row, "to_c"), row["source"], row["how"])
