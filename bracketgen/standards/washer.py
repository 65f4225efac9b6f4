"""Plain washers."""

from __future__ import annotations

from functools import cache

from bracketgen.standards.fastener import fastener
from bracketgen.standards.table import load_table, number


@cache
def washer_thickness_mm(size: str) -> float:
    """Thickness of the plain washer of a bolt size (as `fastener` takes it), mm.

    A size without a washer in the table gets the thickness of the next larger one that has one.
    """
    bolt = fastener(size)
    held = {row["size"]: number(row, "thickness_mm") for row in load_table("washer_thickness").rows}
    if bolt.size in held:
        return held[bolt.size]
    larger = [(fastener(s).diameter_mm, t) for s, t in held.items() if fastener(s).diameter_mm >= bolt.diameter_mm]
    return min(larger)[1]
