"""Sheet gauges: a number that means another thickness in every metal."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Final

from bracketgen.standards.table import LookupFault, Row, how_held, load_table, number

GAUGE_SERIES: Final = ("steel", "stainless", "aluminium", "galvanized")


@dataclass(frozen=True, slots=True)
class GaugeThickness:
    """Nominal thickness of a gauge in mm, and in inches as printed ('0.1196')."""

    thickness_mm: float
    printed_in: str
    source: str
    how: str


@cache
def gauge_mm(gauge: int, family: str) -> GaugeThickness:
    """Thickness of a gauge number in a series: steel, stainless, aluminium or galvanized (`Metal.gauge_series`).

    Gauges 7 to 24; galvanized 9 to 24. Source: the gauges table. Raises LookupFault.
    """
    if family not in GAUGE_SERIES:
        raise LookupFault("gauge series", family, GAUGE_SERIES)
    rows = {row["gauge"]: row for row in load_table("gauges").rows if row[f"{family}_in"]}
    if str(gauge) not in rows:
        reason = f"the gauge table holds {family} from {next(iter(rows))} to {next(reversed(rows))}"
        raise LookupFault("gauge", str(gauge), tuple(rows), reason=reason)
    return _thickness(rows[str(gauge)], family)


def _thickness(row: Row, family: str) -> GaugeThickness:
    how = how_held(row, family)
    source = "from-memory" if how == "memory" else row["source"]
    return GaugeThickness(number(row, f"{family}_mm"), row[f"{family}_in"], source, how)
