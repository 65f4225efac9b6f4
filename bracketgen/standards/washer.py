"""Plain washers."""

from __future__ import annotations

from enum import StrEnum
from functools import cache

from bracketgen.standards.fastener import fastener
from bracketgen.standards.table import load_table, number_or_none


class Series(StrEnum):
    """How large a washer is: the normal one, or the wide one that spreads the load."""

    NORMAL = "thickness_mm"
    WIDE = "wide_thickness_mm"


@cache
def washer_thickness_mm(size: str, series: Series = Series.NORMAL) -> float:
    """Thickness of the plain washer of a bolt size (as `fastener` takes it), mm.

    A size without a washer in the table gets the thickness of the next larger one of its kind (metric, inch) that has
    one. Number screws have no wide washers: they get the normal ones.
    """
    bolt = fastener(size)
    rows = load_table("washer_thickness").rows
    held = {row["size"]: mm for row in rows if (mm := number_or_none(row, series.value)) is not None}
    if bolt.size in held:
        return held[bolt.size]
    if bolt.size.startswith("#") and series is Series.WIDE:
        return washer_thickness_mm(size)
    alike = [s for s in held if s.startswith("M") == bolt.size.startswith("M")]
    return min((d, held[s]) for s in alike if (d := fastener(s).diameter_mm) >= bolt.diameter_mm)[1]
