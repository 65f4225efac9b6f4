"""A read-only table, found by its file name, and the fault of asking for what no table holds."""

from __future__ import annotations

import csv
import difflib
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Final

Row = Mapping[str, str]

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
        self.nearest = nearest or ("" if reason else _nearest(given, self.known))
        super().__init__(self._sentence())

    def _sentence(self) -> str:
        if self.reason:
            return f"{self.what} {self.given}: {self.reason}"
        near = f"; nearest is {self.nearest!r}" if self.nearest else ""
        known = f"; known: {', '.join(self.known)}" if self.known else ""
        return f"unknown {self.what} {self.given!r}{near}{known}"


def _nearest(given: str, known: tuple[str, ...]) -> str:
    folded = {word.casefold(): word for word in reversed(known)}
    found = difflib.get_close_matches(given.casefold(), list(folded), n=1, cutoff=0.5)
    return folded[found[0]] if found else ""


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


def number(row: Row, column: str) -> float:
    """The number in that column. Raises LookupFault where the cell is empty."""
    if not row[column]:
        raise LookupFault("value", column, reason="the table has no figure here")
    return float(row[column])


def number_or_none(row: Row, column: str) -> float | None:
    """The number in that column, or None where the cell is empty."""
    return float(row[column]) if row[column] else None


def how_held(row: Row, column: str) -> str:
    """How the figure in that column was had: `memory` where the row says so, else the row's `how`."""
    return "memory" if column in row.get("from_memory", "").split() else row["how"]


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


def citation_as_read(source_id: str) -> str:
    """The same with where each was read, if a copy was read. Raises LookupFault for an unknown id."""
    return "; ".join(_as_read(_source(one)) for one in source_id.split())


def _as_read(entry: Mapping[str, str]) -> str:
    return entry["title"] + (f" (read: {entry['read']})" if "read" in entry else "")


def _source(source_id: str) -> Mapping[str, str]:
    sources = _sources()
    if source_id not in sources:
        raise LookupFault("source", source_id, tuple(sources))
    return sources[source_id]
