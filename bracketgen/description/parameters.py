"""The parameters of a description: values that may lean on each other, each within its least and most."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from graphlib import CycleError, TopologicalSorter
from typing import Any, Final, TypeGuard

from bracketgen.description.arithmetic import (
    FUNCTIONS,
    NAME,
    UNIT_WORDS,
    Raw,
    UnresolvedName,
    is_arithmetic,
    read_quantity,
)
from bracketgen.description.text import Source, parse
from bracketgen.errors import Fault, Place
from bracketgen.units import Kind, LengthUnit, Quantity, QuantityFault, meant

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
    values: dict[str, Quantity | None] = dict.fromkeys(definitions)
    for name in _order({name: _needs(written.value, values) for name, written in definitions.items()}, faults):
        if name in faults:
            continue
        try:
            values[name] = read_quantity(definitions[name].value, definitions[name].kind, values, bare_unit)
        except UnresolvedName:
            pass
        except QuantityFault as fault:
            faults[name] = fault
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


def _needs(value: Raw, names: Mapping[str, Quantity | None]) -> set[str]:
    leans = isinstance(value, str) and is_arithmetic(value, names)
    return names.keys() & set(NAME.findall(str(value))) if leans else set()


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


# -- as they stand in the file


def _written(raw: Mapping[str, Any]) -> dict[str, dict[str, Any]]:
    """The parameters of a description's plain tables, each as a table: a plain value is short for one."""
    tables = raw.get("parameters")
    if not isinstance(tables, dict):
        return {}
    return {name: table if isinstance(table, dict) else {"value": table} for name, table in tables.items()}


def read_parameters(
    source: Source, bare_unit: LengthUnit | None, set_values: Mapping[str, Raw], faults: list[Fault]
) -> dict[str, Quantity | None]:
    """The values of a file's parameters, some of them set from outside; None for one that is wrong itself."""
    written = _written(source.raw)
    faults += [f for name in set_values if (f := _nothing_to_set(name, written, Place(source.file)))]
    resolved = resolve({name: _definition(table, set_values.get(name)) for name, table in written.items()}, bare_unit)
    for name, wrong in resolved.faults.items():
        if not _readable(written[name].get("value")):
            # The model complains about the table itself; what leans on the parameter is not blamed.
            continue
        bound = resolved.unread_bounds.get(name)
        where = source.at(("parameters", name, bound or "value"))
        if name in set_values and not bound:
            where = Place(f"{source.file} (set {name})")
        faults.append(Fault(where, wrong.what, wrong.cure))
    return resolved.values


def _readable(value: object) -> TypeGuard[Raw]:
    return isinstance(value, str | int | float)


_KINDS: Final = {kind.value: kind for kind in Kind}


def _definition(table: Mapping[str, Any], set_value: Raw | None) -> Definition:
    value = table.get("value") if set_value is None else set_value
    least, most = (bound if _readable(bound) else None for bound in (table.get("least"), table.get("most")))
    return Definition(value if _readable(value) else "", _KINDS.get(str(table.get("kind"))), least, most)


def _nothing_to_set(name: str, known: Mapping[str, object], place: Place) -> Fault | None:
    """The fault of setting a parameter that is not there."""
    if name in known:
        return None
    cure = meant(name, known, f"the description has: {', '.join(known) or 'none'}")
    return Fault(place, f"there is no parameter '{name}' to set", cure)


# -- from outside: the command line, or a row of a table

_BARE: Final = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+)")


@dataclass(frozen=True, slots=True)
class Settable:
    """The parameters of a description with their kinds (None where it can't be told), and its unit."""

    kinds: Mapping[str, Kind | None]
    unit: str

    def fault(self, name: str, place: Place) -> Fault | None:
        """The fault of setting a parameter that is not there."""
        return _nothing_to_set(name, self.kinds, place)

    def with_unit(self, name: str, text: str) -> str:
        """`text`, and the description's unit behind a bare number where a length is wanted, as within the file."""
        wanted = self.kinds.get(name) is Kind.LENGTH
        return f"{text} {self.unit}" if wanted and self.unit and _BARE.fullmatch(text.strip()) else text


def settable(text: str, file: str) -> Settable:
    """What can be set in a description. Raises InputFaults when it is no TOML."""
    raw = parse(text, file).raw
    unit = raw.get("units") if raw.get("units") in ("mm", "in") else ""
    written = _written(raw)
    definitions = {k: Definition(v["value"]) for k, v in written.items() if _readable(v.get("value"))}
    found = resolve(definitions, LengthUnit(unit) if unit else None).values
    kinds = {k: found[k].kind if found.get(k) else None for k in written}  # type: ignore[union-attr]
    kinds |= {k: Kind(v["kind"]) for k, v in written.items() if v.get("kind") in tuple(Kind)}
    return Settable(kinds, str(unit))


def read_settings(typed: list[str]) -> tuple[dict[str, str], list[Fault]]:
    """`name=value` texts as pairs, and the faults of those that are none."""
    found: dict[str, str] = {}
    faults: list[Fault] = []
    for text in typed:
        name, sign, value = text.partition("=")
        name, value = name.strip(), value.strip()
        if not sign or not name or not value:
            faults.append(
                Fault(Place("--set"), f"{text!r} sets nothing", 'write name=value, as in --set "reach=80 mm"')
            )
        elif name in found:
            faults.append(Fault(Place("--set"), f"'{name}' is set twice", "keep one of them"))
        else:
            found[name] = value
    return found, faults
