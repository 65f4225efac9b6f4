"""What a metal does on the brake: how strong a sheet may be at most, and how much of a turn springs back."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import Final

from bracketgen.standards.metal import metal
from bracketgen.standards.table import LookupFault, Row, load_table, number

_COLUMN: Final = "radius_per_t_"


@dataclass(frozen=True, slots=True)
class BrakeMetal:
    """Greatest tensile strength in MPa that may be delivered, and the row of the springback table ('' for none)."""

    most_ultimate_mpa: float
    springback_row: str
    springback_how: str
    source: str
    how: str


@cache
def brake_metal(metal_id: str) -> BrakeMetal:
    """The figures of a metal by its id or other name. Raises LookupFault."""
    wanted = metal(metal_id).id
    for row in load_table("brake_metals").rows:
        if row["metal"] == wanted:
            most = number(row, "most_ultimate_mpa")
            return BrakeMetal(most, row["springback_row"], row["springback_how"], row["source"], row["how"])
    raise LookupFault("metal of the brake table", wanted)


@cache
def springback_ratio(row_id: str, radius_per_t: float) -> float:
    """Turn after release over turn on the tool, for an inside radius given in thicknesses.

    The row is one of the springback table ('DC01'); radius above 0 and up to the row's last figure.
    Raises LookupFault. Source: see the table.
    """
    points = _points(_row(row_id))
    if not 0 < radius_per_t <= points[-1][0]:
        reason = f"the springback table holds {row_id} to {points[-1][0]:g} thicknesses"
        raise LookupFault("inside radius", f"{radius_per_t:g} thicknesses", reason=reason)
    low = max((p for p in points if p[0] <= radius_per_t), default=points[0])
    high = min((p for p in points if p[0] >= radius_per_t), default=low)
    if high[0] <= low[0]:
        return low[1]
    share = math.log(radius_per_t / low[0]) / math.log(high[0] / low[0])
    return low[1] + max(share, 0.0) * (high[1] - low[1])


def _row(row_id: str) -> Row:
    rows = load_table("springback").rows
    for row in rows:
        if row["id"] == row_id:
            return row
    raise LookupFault("springback row", row_id, (row["id"] for row in rows))


def _points(row: Row) -> list[tuple[float, float]]:
    """Radius over thickness with its ratio, smallest first, without the empty cells."""
    found = [c for c in row if c.startswith(_COLUMN) and row[c]]
    return [(float(c.removeprefix(_COLUMN)), number(row, c)) for c in found]
