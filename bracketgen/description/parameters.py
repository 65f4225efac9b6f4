"""The parameters of a description: values that may lean on each other, each within its least and most."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from graphlib import CycleError, TopologicalSorter

from bracketgen.description.arithmetic import (
    NAME,
    UNIT_WORDS,
    Raw,
    UnresolvedName,
    is_arithmetic,
    read_quantity,
)
from bracketgen.description.terms import FUNCTIONS
from bracketgen.units import Kind, LengthUnit, Quantity, QuantityFault

#: Names that arithmetic has given away already.
RESERVED = frozenset(("pi", *FUNCTIONS, *UNIT_WORDS))


@dataclass(frozen=True, slots=True)
class Definition:
    """One parameter as written; `kind` None lets the value say it, `least` and `most` are of the same kind."""

    value: Raw
    kind: Kind | None = None
    least: Raw | None = None
    most: Raw | None = None


@dataclass(frozen=True, slots=True)
class Resolved:
    """Every parameter's value, None where it has none, and the fault of each that is wrong by itself.

    `unread_bounds` says of which parameters the fault is that `least` or `most` itself can't be read.
    """

    values: dict[str, Quantity | None]
    faults: dict[str, QuantityFault]
    unread_bounds: dict[str, str] = field(default_factory=dict)


def resolve(definitions: Mapping[str, Definition], bare_unit: LengthUnit | None = None) -> Resolved:
    """Values of all parameters, in the order given; never raises.

    A parameter that leans on a wrong one has no value and no fault of its own. A ring of parameters that need each
    other is one fault, at its first member, and names the ring.
    """
    faults = {name: fault for name in definitions if (fault := _name_fault(name))}
    needs = {name: _needs(definition.value, definitions) for name, definition in definitions.items()}
    order = _order(needs, faults)
    values: dict[str, Quantity | None] = dict.fromkeys(definitions)
    for name in order:
        if name not in faults:
            _settle(name, definitions[name], values, faults, bare_unit)
    unread = _hold_to_bounds(definitions, values, faults, bare_unit)
    return Resolved(values, {name: faults[name] for name in definitions if name in faults}, unread)


def _name_fault(name: str) -> QuantityFault | None:
    if not NAME.fullmatch(name):
        plain = re.sub(r"[^A-Za-z0-9]+", "_", name).strip("_")
        cure = f"write {plain}" if NAME.fullmatch(plain) else "use letters, digits and _, a letter first"
        return QuantityFault(f"parameter {name!r} can't be named in arithmetic", cure)
    if name in RESERVED:
        return QuantityFault(f"{name!r} has a meaning in arithmetic already", f"write {name}_1 or a longer word")
    return None


def _needs(value: Raw, names: Mapping[str, object]) -> set[str]:
    if not isinstance(value, str) or not is_arithmetic(value, dict.fromkeys(names)):
        return set()
    return {word for word in NAME.findall(value) if word in names}


def _order(needs: dict[str, set[str]], faults: dict[str, QuantityFault]) -> list[str]:
    """Names with what they need before them; rings are cut open and made faults."""
    while True:
        try:
            return list(TopologicalSorter({name: sorted(needs[name]) for name in needs}).static_order())
        except CycleError as ring:
            members: list[str] = list(reversed(ring.args[1][1:]))
            start = min(members, key=list(needs).index)
            turn = members.index(start)
            members = members[turn:] + members[:turn]
            chain = " needs ".join(repr(member) for member in (*members, start))
            faults.setdefault(start, QuantityFault(f"{chain}: a ring", "give one of them a plain value"))
            needs[start] = set()


def _settle(
    name: str,
    definition: Definition,
    values: dict[str, Quantity | None],
    faults: dict[str, QuantityFault],
    bare_unit: LengthUnit | None,
) -> None:
    try:
        values[name] = read_quantity(definition.value, definition.kind, values, bare_unit)
    except UnresolvedName:
        values[name] = None
    except QuantityFault as fault:
        faults[name] = fault


def _hold_to_bounds(
    definitions: Mapping[str, Definition],
    values: dict[str, Quantity | None],
    faults: dict[str, QuantityFault],
    bare_unit: LengthUnit | None,
) -> dict[str, str]:
    """Adds the faults of values out of bounds; returns which bound of which parameter can't be read."""
    unread: dict[str, str] = {}
    for name, definition in definitions.items():
        value = values[name]
        if value is None:
            continue
        for raw, word, sign in ((definition.least, "least", 1), (definition.most, "most", -1)):
            if raw is None or name in faults:
                continue
            try:
                bound = read_quantity(raw, value.kind, values, bare_unit)
            except UnresolvedName:
                continue
            except QuantityFault as fault:
                faults[name], unread[name] = QuantityFault(f"{word} of {name!r}: {fault.what}", fault.cure), word
                continue
            if sign * (value.value - bound.value) < 0:
                side = "below" if sign > 0 else "above"
                faults[name] = QuantityFault(f"{name!r} is {value.echo}, {side} its {word}", f"{word} is {bound.echo}")
    return unread
