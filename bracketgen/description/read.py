"""From the text of a description to a checked document, with every fault in its place."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, TypeVar

from pydantic import ValidationError

from bracketgen.description.arithmetic import Raw
from bracketgen.description.model.document import Document
from bracketgen.description.model.values import Reader, TomlTable
from bracketgen.description.parameters import read_parameters
from bracketgen.description.text import Source, parse
from bracketgen.description.wording import fault_of
from bracketgen.errors import Fault, InputFaults
from bracketgen.units import LengthUnit, Quantity

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
