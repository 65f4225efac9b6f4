"""A read-only table, found by its file name, its rows as typed values, and the fault of asking for what it lacks.

A chapter of this room describes a row as a frozen dataclass whose fields are the table's columns; `rows` fills it and
`row_named` looks one up.
"""

from __future__ import annotations

import csv
import math
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from enum import StrEnum
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final, TypeVar, cast, get_type_hints

from bracketgen.units import nearest_word

Row = Mapping[str, str]
R = TypeVar("R")

_FOLDER: Final = Path(__file__).parent / "tables"


class LookupFault(ValueError):
    """A word or a size that the table does not hold.

    `what` is the kind of thing asked for, `given` what was asked, `known` the words the table does hold,
    `nearest` the likeliest of them ('' when none is near), `reason` why when it is not a matter of spelling.
    """

    def __init__(self, what: str, given: str, known: Iterable[str] = (), reason: str = "", nearest: str = "") -> None:
        self.what = what
        self.given = given
        self.known = tuple(known)
        self.reason = reason
        self.nearest = nearest or ("" if reason else nearest_word(given, self.known) or "")
        super().__init__(self._sentence())

    def _sentence(self) -> str:
        if self.reason:
            return f"{self.what} {self.given}: {self.reason}"
        near = f"; nearest is {self.nearest!r}" if self.nearest else ""
        known = f"; known: {', '.join(self.known)}" if self.known else ""
        return f"unknown {self.what} {self.given!r}{near}{known}"


@dataclass(frozen=True, slots=True)
class Table:
    """One table: its file name without ending, title, note, column names, and rows by column name."""

    name: str
    title: str
    note: str
    columns: tuple[str, ...]
    rows: tuple[Row, ...]


@cache
def table_names() -> tuple[str, ...]:
    """Names of all tables, found by looking in the folder, in alphabetical order."""
    return tuple(sorted(path.stem for path in _FOLDER.glob("*.csv")))


@cache
def load_table(name: str) -> Table:
    """The table of that name. Raises LookupFault for an unknown name."""
    if name not in table_names():
        raise LookupFault("table", name, table_names())
    lines = (_FOLDER / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    head = [line for line in lines if line.startswith("#")]
    reader = csv.DictReader(line for line in lines if not line.startswith("# "))
    rows = tuple(MappingProxyType(row) for row in reader)
    return Table(
        name=name,
        title=" ".join(_tagged(head, "title")),
        note="\n".join(_tagged(head, "note")),
        columns=tuple(reader.fieldnames or ()),
        rows=rows,
    )


def _tagged(lines: list[str], tag: str) -> list[str]:
    start = f"# {tag}: "
    return [line.removeprefix(start) for line in lines if line.startswith(start)]


# -- rows as typed values


def rows(table: str, kind: type[R]) -> tuple[R, ...]:
    """Every row of a table as a frozen dataclass, its fields filled from the columns of the same names.

    A field whose column has another name says so: field(metadata={"column": "class"}).

    A field is `str`, `float` (finite, 0 or more), `float | None` (None where the cell is empty), `bool` ('yes', 'no'),
    a StrEnum, `tuple[str, ...]` (words with blanks between), or `Mapping[float, float | None]`: all columns named
    field_number, such as `to_3_mm`, by that number. Raises ValueError that names table, row and column for a cell that
    is none of it.
    """
    made: tuple[R, ...] = _rows(table, cast(Any, kind))
    return made


@cache
def _rows(table: str, kind: Any) -> tuple[Any, ...]:
    held, types = load_table(table), get_type_hints(kind)
    plain = [(f.metadata.get("column", f.name), types[f.name]) for f in fields(kind)]
    return tuple(kind(*(_value(held, row, name, wanted) for name, wanted in plain)) for row in held.rows)


def _value(table: Table, row: Row, name: str, wanted: Any) -> Any:
    if wanted == Mapping[float, float | None]:
        found = [c for c in table.columns if c.startswith(f"{name}_")]
        numbers = [float(c.removeprefix(f"{name}_").split("_")[0]) for c in found]
        return dict(zip(numbers, (_value(table, row, c, float | None) for c in found), strict=True))
    text = row[name]
    try:
        return _cell(text, wanted)
    except (KeyError, ValueError):
        first = " ".join(list(row.values())[:2])
        raise ValueError(f"table {table.name}, row {first!r}: {name} can't be {text!r}") from None


def _cell(text: str, wanted: Any) -> Any:
    if wanted is str:
        return text
    if wanted == tuple[str, ...]:
        return tuple(text.split())
    if wanted is bool:
        return {"yes": True, "no": False}[text]
    if isinstance(wanted, type) and issubclass(wanted, StrEnum):
        return wanted(text)
    if wanted == float | None and not text:
        return None
    value = float(text)
    if not (math.isfinite(value) and value >= 0.0):
        raise ValueError(text)
    return value


def row_named(what: str, given: str, among: Iterable[R], name: str, aliases: str = "") -> R:
    """The row that is called `given` in its field `name` or among its `aliases`, in any case.

    `what` is told where there is none. Raises LookupFault.
    """
    known = tuple(among)
    wanted = given.strip().casefold()
    for row in known:
        words = (getattr(row, name), *(getattr(row, aliases) if aliases else ()))
        if any(word.casefold() in (wanted, wanted.replace(" ", "-")) for word in words):
            return row
    raise LookupFault(what, given, [getattr(row, name) for row in known])


@cache
def _sources() -> Mapping[str, Mapping[str, str]]:
    with (_FOLDER / "sources.toml").open("rb") as file:
        return tomllib.load(file)


def source_ids() -> tuple[str, ...]:
    """Ids of all sources, in the order of the file."""
    return tuple(_sources())


def citation(source_id: str) -> str:
    """Document, edition, table of a source, or of several ids with blanks between, joined by '; '.

    Raises LookupFault for an unknown id.
    """
    return "; ".join(_source(one)["title"] for one in source_id.split())


def noted_citation(source_id: str) -> str:
    """The same, each with its note on how the figures came from it. Raises LookupFault for an unknown id."""
    entries = [_source(one) for one in source_id.split()]
    return "; ".join(e["title"] + (f" ({e['note']})" if "note" in e else "") for e in entries)


def _source(source_id: str) -> Mapping[str, str]:
    sources = _sources()
    if source_id not in sources:
        raise LookupFault("source", source_id, tuple(sources))
    return sources[source_id]
