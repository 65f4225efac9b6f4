"""How far bending and fitting may be off."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from bracketgen.standards.table import LookupFault, load_table, number


@dataclass(frozen=True, slots=True)
class UsualScatter:
    """One figure of the table, plus or minus, in `unit` ('deg', 'mm' or '1' for a ratio)."""

    id: str
    title: str
    plus_minus: float
    unit: str
    source: str
    how: str


@cache
def scatter_ids() -> tuple[str, ...]:
    """Ids of all figures, in the order of the table."""
    return tuple(row["id"] for row in load_table("bend_scatter").rows)


@cache
def usual_scatter_of(scatter_id: str) -> UsualScatter:
    """The usual figure of that id: 'turn', 'k_factor', 'bend_line' ... Raises LookupFault."""
    for row in load_table("bend_scatter").rows:
        if row["id"] == scatter_id:
            value = number(row, "plus_minus")
            return UsualScatter(row["id"], row["title"], value, row["unit"], row["source"], row["how"])
    raise LookupFault("scatter", scatter_id, scatter_ids())
