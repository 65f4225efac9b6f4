"""How much room must stay between two things, by what they are."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from bracketgen.standards.table import LookupFault, load_table, number, number_or_none


@dataclass(frozen=True, slots=True)
class RequiredGap:
    """What two kinds of things must keep: while they move together, and what is left after they moved apart."""

    still_mm: float
    moving_mm: float
    source: str
    how: str


@cache
def required_gap(a: str, b: str) -> RequiredGap:
    """The row of two kinds of matter, in any order.

    Raises LookupFault where the table has no figure: then a person has to state one.
    """
    row = _row(a, b)
    if not row["gap_mm"]:
        raise LookupFault("gap", f"between {a} and {b}", reason="no published figure, and none may be assumed")
    return RequiredGap(number(row, "gap_mm"), number(row, "moving_mm"), row["source"], row["how"])


@cache
def usual_gap_mm(a: str, b: str) -> float | None:
    """What many shops leave where no figure may be assumed; common practice, no source. None for other pairs."""
    try:
        return number_or_none(_row(a, b), "habit_mm")
    except LookupFault:
        return None


def _row(a: str, b: str) -> dict[str, str]:
    pair = sorted((a, b))
    for row in load_table("required_gaps").rows:
        if [row["a"], row["b"]] == pair:
            return dict(row)
    raise LookupFault("gap", f"between {a} and {b}", reason="the table of gaps has no such pair")
