"""From the text of a description to a checked document, with every fault in its place."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final, TypeVar

from pydantic import ValidationError

from bracketgen.description.arithmetic import Raw
from bracketgen.description.model.document import Document
from bracketgen.description.model.values import Reader, TomlTable
from bracketgen.description.parameters import read_parameters
from bracketgen.description.text import Source, parse
from bracketgen.description.wording import fault_of
from bracketgen.errors import Fault, InputFaults
from bracketgen.units import LengthUnit, Quantity, plain

AnyTable = TypeVar("AnyTable", bound=TomlTable)

#: Kinds of files: keys that no other kind has, and what such a file is good for.
_FILES: Final = {
    "a description of a part": (("panels", "strip", "stock"), "make it with bracketgen make"),
    "a site file": (("faces", "readings", "neighbours", "carried"), "it goes with bracketgen locate, span or place"),
    "a job file": (("parts", "sheets", "rates"), "it goes with bracketgen pack or nest"),
    "a tooling file": (("punches", "dies", "noses", "press", "leaf_brake"), "it goes with bracketgen brake --tooling"),
}


@dataclass(frozen=True)
class Description:
    """A checked document, its parameters, and where everything stands in the file."""

    source: Source
    document: Document
    parameters: dict[str, Quantity]

    @property
    def values(self) -> dict[str, str]:
        """Every value of the part that the file gives, by dotted key, mm and degrees; remarks and the site left out."""
        return dict(_values(self.document, ""))


_NO_VALUES: Final = frozenset({"note", "units", "site", "parameters"})


def _values(table: TomlTable, before: str) -> Iterator[tuple[str, str]]:
    for key in sorted(table.model_fields_set - _NO_VALUES):
        yield from _told(getattr(table, key), f"{before}{key}")


def _told(value: Any, key: str) -> Iterator[tuple[str, str]]:
    """One value, or those of the tables under it; a row of figures is one value."""
    match value:
        case TomlTable():
            yield from _values(value, f"{key}.")
        case dict():
            for name in value:
                yield from _told(value[name], f"{key}.{name}")
        case list() | tuple() if any(isinstance(one, TomlTable) for one in value):
            for number, one in enumerate(value, 1):
                name = getattr(one, "name", None)
                yield from _told(one, f"{key}.{name if isinstance(name, str) and name else number}")
        case list() | tuple():
            yield key, ", ".join(text for one in value for _, text in _told(one, key))
        case bool() | str():
            yield key, str(value)
        case int() | float():
            yield key, plain(float(value), 6)
        case None:
            return
        case _:
            yield key, str(value)


def read(text: str, file: str, set_values: Mapping[str, Raw] | None = None, folder: str = ".") -> Description:
    """The document in `text`; `set_values` replaces values of parameters.

    Raises InputFaults with every fault of the file.
    """
    source, document, names = read_tables(text, file, Document, set_values or {}, folder)
    return Description(source, document, names)


def read_tables(
    text: str, file: str, root: type[AnyTable], set_values: Mapping[str, Raw], folder: str = "."
) -> tuple[Source, AnyTable, dict[str, Quantity]]:
    """Any file of ours that has `units` and may have parameters, checked against the model `root`.

    Raises InputFaults with every fault of the file.
    """
    source = parse(text, file)
    _refuse_another_kind(source, root)
    bare = {"mm": LengthUnit.MM, "in": LengthUnit.IN}.get(str(source.raw.get("units")))
    faults: list[Fault] = []
    names = read_parameters(source, bare, set_values, faults)
    # Without a unit for the file every bare length would be one more fault that says the same.
    reader = Reader(names, bare or LengthUnit.MM, folder)
    try:
        tables = root.model_validate(source.raw, context=reader)
    except ValidationError as error:
        told = (fault_of(e, root, source) for e in error.errors())
        faults += [f for f in told if f]
    if faults:
        raise InputFaults(list(dict.fromkeys(faults)))
    return source, tables, {k: v for k, v in names.items() if v is not None}


def _refuse_another_kind(source: Source, root: type[TomlTable]) -> None:
    """Raises InputFaults where a key gives another kind of file away, and no telling key of the wanted kind stands."""
    telling = {key for keys, _ in _FILES.values() for key in keys}
    if any(key in source.raw for key in telling.intersection(root.model_fields)):
        return
    for kind, (keys, use) in _FILES.items():
        for key in keys:
            if key in source.raw and key not in root.model_fields:
                what = f"with '{key}' this is {kind}, which is not wanted here"
                raise InputFaults([Fault(source.at_key((key,)), what, use)])
