"""From the text of a description to a checked document, with every fault in its place."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, TypeGuard, TypeVar

from pydantic import ValidationError

from bracketgen.description.kind_of_file import of_another_kind
from bracketgen.description.model.document import Document
from bracketgen.description.model.quantities import Reader, Table
from bracketgen.description.parameters import Definition, resolve
from bracketgen.description.places import Places
from bracketgen.description.syntax import syntax_fault
from bracketgen.description.wording import fault_of
from bracketgen.errors import Fault, InputFaults, Place
from bracketgen.units import Kind, LengthUnit, Quantity, nearest_word

Path = tuple[str | int, ...]
AnyTable = TypeVar("AnyTable", bound=Table)

_KINDS = {kind.value: kind for kind in Kind}


@dataclass(frozen=True)
class Source:
    """A description's text with the place of every key, for faults found at any later stage."""

    file: str
    raw: dict[str, Any]
    places: Places

    def at(self, path: Path) -> Place:
        """Where the value of a path stands."""
        return Place(self.file, *self.places.value(path))

    def at_key(self, path: Path) -> Place:
        """Where the key of a path stands."""
        return Place(self.file, *self.places.key(path))

    def pointed(self, path: Path) -> Place:
        """Where a person looks for a path: the key of a table, else the value."""
        here: Any = self.raw
        for step in path:
            try:
                here = here[step]
            except (KeyError, IndexError, TypeError):
                break
        return self.at_key(path) if isinstance(here, dict) else self.at(path)


@dataclass(frozen=True)
class Reading:
    """A checked document, its parameters, and where everything stands in the file."""

    source: Source
    document: Document
    parameters: dict[str, Quantity]


def parse(text: str, file: str) -> Source:
    """The TOML text as nested tables with places. Raises InputFaults for faulty TOML."""
    # Some editors begin a file with a byte order mark; it is no part of the text.
    text = text.removeprefix("\ufeff")
    try:
        raw = tomllib.loads(text)
    except ValueError as error:
        wrong = syntax_fault(error, text)
        raise InputFaults([Fault(Place(file, wrong.line, wrong.column), wrong.what, wrong.cure)]) from None
    except RecursionError:
        raise InputFaults([Fault(Place(file, 1, 1), "brackets are nested too deeply")]) from None
    return Source(file, raw, Places.of(text))


def read(text: str, file: str, set_values: Mapping[str, str | int | float] | None = None, folder: str = ".") -> Reading:
    """The document in `text`; `set_values` replaces values of parameters.

    Raises InputFaults with every fault of the file.
    """
    source, document, names = read_tables(text, file, Document, set_values or {}, folder)
    return Reading(source, document, names)


def read_tables(
    text: str, file: str, root: type[AnyTable], set_values: Mapping[str, str | int | float], folder: str = "."
) -> tuple[Source, AnyTable, dict[str, Quantity]]:
    """Any file of ours that has `units` and may have parameters, checked against the model `root`.

    Raises InputFaults with every fault of the file.
    """
    source = parse(text, file)
    other = of_another_kind(source.raw, root.model_fields)
    if other is not None:
        key, kind, use = other
        raise InputFaults([Fault(source.at_key((key,)), f"with '{key}' this is {kind}, which is not wanted here", use)])
    bare = {"mm": LengthUnit.MM, "in": LengthUnit.IN}.get(str(source.raw.get("units")))
    faults: list[Fault] = []
    names = _parameters(source, bare, set_values, faults)
    # Without a unit for the file every bare length would be one more fault that says the same.
    reader = Reader(names, bare or LengthUnit.MM, folder)
    try:
        tables = root.model_validate(source.raw, context=reader)
    except ValidationError as error:
        told = (fault_of(e, root, source.raw, source.pointed, source.at_key) for e in error.errors())
        faults += [f for f in told if f]
    if faults:
        raise InputFaults(list(dict.fromkeys(faults)))
    return source, tables, {k: v for k, v in names.items() if v is not None}


def parameter_tables(raw: Mapping[str, Any]) -> dict[str, dict[str, Any]]:
    """The parameters of a description's plain tables, each as a table: a plain value is short for one."""
    tables = raw.get("parameters")
    if not isinstance(tables, dict):
        return {}
    return {name: table if isinstance(table, dict) else {"value": table} for name, table in tables.items()}


def _parameters(
    source: Source, bare: LengthUnit | None, set_values: Mapping[str, str | int | float], faults: list[Fault]
) -> dict[str, Quantity | None]:
    written = parameter_tables(source.raw)
    definitions = {name: _definition(table, set_values.get(name)) for name, table in written.items()}
    for name in set_values:
        if name not in written:
            near = nearest_word(name, written)
            cure = (f"did you mean '{near}'? " if near else "") + f"the description has: {', '.join(written) or 'none'}"
            faults.append(Fault(Place(source.file), f"there is no parameter '{name}' to set", cure))
    resolved = resolve(definitions, bare)
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


def _readable(value: object) -> TypeGuard[str | int | float]:
    return isinstance(value, str | int | float)


def _definition(table: Mapping[str, Any], set_value: str | int | float | None) -> Definition:
    value = table.get("value") if set_value is None else set_value
    least, most = (bound if _readable(bound) else None for bound in (table.get("least"), table.get("most")))
    return Definition(value if _readable(value) else "", _KINDS.get(str(table.get("kind"))), least, most)
