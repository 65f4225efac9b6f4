"""How far a size without its own tolerance may be off."""

from __future__ import annotations

from functools import cache

from bracketgen.standards.cut_tolerance import Deviation
from bracketgen.standards.size_column import Limit, size_column
from bracketgen.standards.table import LookupFault, Row, load_table, number


@cache
def general_classes() -> tuple[str, ...]:
    """The tolerance classes of ISO 2768-1: 'f', 'm', 'c', 'v'."""
    return tuple(row["class"] for row in load_table("general_tolerance").rows)


@cache
def general_tolerance(size_mm: float, tolerance_class: str) -> Deviation:
    """ISO 2768-1 deviation, in mm, of a length from 0.5 to 4000 mm. Raises LookupFault outside or at a dash."""
    row = _row("general_tolerance", tolerance_class)
    if size_mm < 0.5:
        reason = "ISO 2768-1 begins at 0.5 mm; smaller sizes carry their own tolerance"
        raise LookupFault("size", f"{size_mm:g} mm", reason=reason)
    column = size_column(load_table("general_tolerance"), size_mm, Limit.INCLUDED)
    if not row[column]:
        reason = f"ISO 2768-1 gives no deviation in class {tolerance_class}"
        raise LookupFault("size", f"{size_mm:g} mm", reason=reason)
    return Deviation(number(row, column), row["source"], row["how"])


@cache
def angle_tolerance(shorter_leg_mm: float, tolerance_class: str) -> Deviation:
    """ISO 2768-1 table 3 deviation, in degrees, of an angle with that shorter leg in mm. Raises LookupFault."""
    row = _row("angle_tolerance", tolerance_class)
    if shorter_leg_mm <= 0:
        raise LookupFault("leg", f"{shorter_leg_mm:g} mm", reason="a leg is more than 0")
    if shorter_leg_mm > 400:
        return Deviation(number(row, "over_400_deg"), row["source"], row["how"])
    column = size_column(load_table("angle_tolerance"), shorter_leg_mm, Limit.INCLUDED)
    return Deviation(number(row, column), row["source"], row["how"])


def _row(table: str, tolerance_class: str) -> Row:
    for row in load_table(table).rows:
        if row["class"] == tolerance_class:
            return row
    raise LookupFault("ISO 2768-1 class", tolerance_class, general_classes())
