"""How far a thermally cut size may be off."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from bracketgen.standards.size_column import Limit, size_column
from bracketgen.standards.table import LookupFault, Row, load_table, number


@dataclass(frozen=True, slots=True)
class Deviation:
    """Plus or minus, in mm (lengths) or degrees (angles)."""

    plus_minus: float
    source: str
    how: str


@cache
def cut_classes() -> tuple[str, ...]:
    """The tolerance classes held: '1', '2'."""
    return tuple(dict.fromkeys(row["class"] for row in load_table("cut_tolerance").rows))


@cache
def cut_tolerance(size_mm: float, thickness_mm: float, tolerance_class: str) -> Deviation:
    """ISO 9013 deviation, in mm, of a cut size in a thickness.

    Sizes above 0 and below 1000 mm; class 1 to 15 mm thick, class 2 to 10 mm; a size on a limit belongs to the
    range above it. Raises LookupFault outside, or where the standard prints a dash.
    """
    if tolerance_class not in cut_classes():
        raise LookupFault("ISO 9013 class", tolerance_class, cut_classes())
    if size_mm <= 0:
        raise LookupFault("size", f"{size_mm:g} mm", reason="a size is more than 0")
    table = load_table("cut_tolerance")
    row = _row(thickness_mm, tolerance_class)
    column = size_column(table, size_mm, Limit.LEFT_OUT)
    if not row[column]:
        reason = f"ISO 9013 gives no deviation for this size in {thickness_mm:g} mm"
        raise LookupFault("size", f"{size_mm:g} mm", reason=reason)
    return Deviation(number(row, column), row["source"], row["how"])


def _row(thickness_mm: float, tolerance_class: str) -> Row:
    rows = [row for row in load_table("cut_tolerance").rows if row["class"] == tolerance_class]
    for row in rows:
        if number(row, "thickness_over_mm") < thickness_mm <= number(row, "thickness_to_mm"):
            return row
    reason = f"class {tolerance_class} is held above 0 and to {rows[-1]['thickness_to_mm']} mm"
    raise LookupFault("thickness", f"{thickness_mm:g} mm", reason=reason)
