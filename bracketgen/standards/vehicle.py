"""What a vehicle asks for: gaps between things, heat that they stand, pipes that grow, bodies that move, hoses."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache

from bracketgen.standards.table import LookupFault, row_named, rows

# -- gaps


@dataclass(frozen=True, slots=True)
class RequiredGap:
    """What two kinds of things must keep: while they move together, and what is left after they moved apart."""

    still_mm: float
    moving_mm: float
    source: str
    how: str


@dataclass(frozen=True, slots=True)
class _GapRow:
    a: str
    b: str
    gap_mm: float | None
    moving_mm: float | None
    habit_mm: float | None
    source: str
    how: str


@cache
def required_gap(a: str, b: str) -> RequiredGap:
    """The row of two kinds of matter, in any order.

    Raises LookupFault where the table has no figure: then a person has to state one.
    """
    row = _gap_row(a, b)
    if row is None:
        raise LookupFault("gap", f"between {a} and {b}", reason="the table of gaps has no such pair")
    if row.gap_mm is None or row.moving_mm is None:
        raise LookupFault("gap", f"between {a} and {b}", reason="no published figure, and none may be assumed")
    return RequiredGap(row.gap_mm, row.moving_mm, row.source, row.how)


@cache
def usual_gap_mm(a: str, b: str) -> float | None:
    """What many shops leave where no figure may be assumed; common practice, no source. None for other pairs."""
    row = _gap_row(a, b)
    return row.habit_mm if row else None


def _gap_row(a: str, b: str) -> _GapRow | None:
    return next((row for row in rows("required_gaps", _GapRow) if [row.a, row.b] == sorted((a, b))), None)


# -- heat


@dataclass(frozen=True, slots=True)
class HeatLimit:
    """The temperature that a compound of a kind (rubber, plastic, wire) stands for long, degrees C, on whose word."""

    kind: str
    compound: str
    aliases: tuple[str, ...]
    limit_c: float
    source: str
    how: str


@cache
def heat_limit(kind: str, compound: str) -> HeatLimit:
    """The limit of a compound of 'rubber', 'plastic' or 'wire', by its name or short sign. Raises LookupFault."""
    return row_named("compound", compound, _heat_limits(kind), "compound", "aliases")


@cache
def worst_limit(kind: str) -> HeatLimit:
    """The least of its kind: what is taken when nobody knows the compound. Raises LookupFault."""
    return min(_heat_limits(kind), key=lambda limit: limit.limit_c)


def heat_kinds() -> tuple[str, ...]:
    """The kinds of matter that the table knows."""
    return tuple(dict.fromkeys(row.kind for row in rows("heat_limits", HeatLimit)))


def _heat_limits(kind: str) -> list[HeatLimit]:
    found = [row for row in rows("heat_limits", HeatLimit) if row.kind == kind]
    if not found:
        raise LookupFault("kind of matter", kind, heat_kinds())
    return found


@dataclass(frozen=True, slots=True)
class HotExpansion:
    """Mean expansion per kelvin of a pipe metal from room temperature to `to_c` degrees C."""

    metal: str
    aliases: tuple[str, ...]
    per_k: float = field(metadata={"column": "expansion_per_k"})
    to_c: float
    source: str
    how: str


@cache
def hot_expansion(metal: str) -> HotExpansion:
    """The mean expansion of a pipe metal, by its name ('steel', '304', '430'). Raises LookupFault."""
    return row_named("pipe metal", metal, rows("hot_expansion", HotExpansion), "metal", "aliases")


@cache
def worst_expansion() -> HotExpansion:
    """The greatest of the table: what is taken when nobody knows the metal."""
    return max(rows("hot_expansion", HotExpansion), key=lambda e: e.per_k)


# -- bodies on their mounts


@dataclass(frozen=True, slots=True)
class BodyTravel:
    """Travel of a body to either side along each axis, mm."""

    body: str
    travel_mm: float
    source: str
    how: str


@cache
def body_travel(body: str) -> BodyTravel:
    """The usual travel of a body. Raises LookupFault for a body that the table does not hold."""
    return row_named("body", body, rows("travel", BodyTravel), "body")


# -- hoses


@dataclass(frozen=True, slots=True)
class HoseRule:
    """One figure of how hoses are laid, in the table's unit (%, outside diameters, mm)."""

    what: str
    value: float
    source: str
    how: str


@cache
def hose_rule(what: str) -> HoseRule:
    """The figure by the table's words, such as 'slack at rest'. Raises LookupFault."""
    return row_named("hose rule", what, rows("hose_rules", HoseRule), "what")
