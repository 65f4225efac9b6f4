"""How hoses are laid: slack, straight ends, clamps."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from bracketgen.standards.table import LookupFault, load_table, number


@dataclass(frozen=True, slots=True)
class HoseRule:
    """One figure, in the table's unit (%, outside diameters, mm)."""

    value: float
    source: str
    how: str


@cache
def hose_rule(what: str) -> HoseRule:
    """The figure by the table's words, such as 'slack at rest'. Raises LookupFault."""
    rows = load_table("hose_rules").rows
    for row in rows:
        if row["what"] == what:
            return HoseRule(number(row, "value"), row["source"], row["how"])
    raise LookupFault("hose rule", what, [row["what"] for row in rows])
