"""A family of parts: a table in which every row gives a part's name and values for the description's parameters."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from bracketgen.errors import Cell, Fault, InputFaults, Place, csv_cells, csv_lines

#: Heading of the first column.
NAME_COLUMN: Final = "name"


@dataclass(frozen=True, slots=True)
class Member:
    """One part of the family: its name, and the parameters that its row sets (an empty cell sets nothing)."""

    name: str
    place: Place
    cells: dict[str, Cell]

    @property
    def values(self) -> dict[str, str]:
        """Parameters with the texts that were typed."""
        return {name: cell.text for name, cell in self.cells.items()}

    def placed(self, faults: Iterable[Fault], file: str) -> tuple[Fault, ...]:
        """The faults of reading `file` with this row's values: those of a value stand at its cell.

        What the description says itself keeps its place, with the row's name, if it has one, before it.
        """
        cells = {f"{file} (set {name})": cell for name, cell in self.cells.items()}
        before = f"{self.name}: " if self.name else ""
        return tuple(
            Fault(cells[fault.place.file].place, fault.what, fault.cure)
            if fault.place.file in cells
            else Fault(fault.place, before + fault.what, fault.cure)
            for fault in faults
        )


@dataclass(frozen=True, slots=True)
class Family:
    """Columns that set parameters, the rows that can be used, and the faults of the others."""

    columns: tuple[Cell, ...]
    members: tuple[Member, ...]
    faults: tuple[Fault, ...]


def read_family(text: str, file: str) -> Family:
    """The family in CSV `text`; `file` stands in faults.

    The first column is `name`. Cells stand apart by commas, or by semicolons or tabs where the heading has them.
    Empty lines and lines that begin with # are left out. Raises InputFaults when the heading can't be used.
    """
    used = [(n, line) for n, line in csv_lines(text) if line.strip(" \t,;")]
    if not used:
        raise InputFaults([Fault(Place(file, 1, 1), "the table is empty", "the first line is name,... parameters")])
    number, heading = used[0]
    comma = next((sign for sign in ("\t", ";") if sign in heading), ",")
    columns = csv_cells(heading, number, file, comma)
    wrong = []
    if columns[0].text != NAME_COLUMN:
        wrong.append(Fault(columns[0].place, f"the first column is {columns[0].text!r}", f"call it {NAME_COLUMN}"))
    words = [cell.text for cell in columns]
    for n, cell in enumerate(columns):
        if not cell.text:
            wrong.append(Fault(cell.place, f"column {n + 1} has no heading", "write a parameter's name"))
        elif cell.text in words[:n]:
            wrong.append(Fault(cell.place, f"the column '{cell.text}' stands twice", "strike out one"))
    if wrong:
        raise InputFaults(wrong)
    if not used[1:]:
        raise InputFaults([Fault(Place(file, number, 1), "the table has a heading and no rows", "add a row a part")])
    members: dict[str, Member] = {}
    faults: list[Fault] = []
    for n, line in used[1:]:
        name, *cells = csv_cells(line, n, file, comma)
        fault = _row_fault(len(columns), name, 1 + len(cells), members)
        if fault:
            faults.append(fault)
            continue
        values = {c.text: cell for c, cell in zip(columns[1:], cells, strict=True) if cell.text}
        # File names differ by more than case, or one part would take the other's file on some machines.
        members[name.text.lower()] = Member(name.text, name.place, values)
    return Family(tuple(columns[1:]), tuple(members.values()), tuple(faults))


def _row_fault(wanted: int, name: Cell, found: int, members: dict[str, Member]) -> Fault | None:
    if found != wanted:
        what = f"the row has {found} cells, the heading {wanted}"
        return Fault(name.place, what, "write decimals with a point, as in 12.5, and every comma of an empty cell")
    trouble = name_trouble(name.text)
    if trouble:
        near = part_name(name.text)
        return Fault(name.place, trouble, f"write {near}" if near else "use plain letters, digits, - and _")
    twice = members.get(name.text.lower())
    if twice:
        what = f"the name '{name.text}' stands in line {twice.place.line} already"
        return Fault(name.place, what, "give every part a name of its own")
    return None


# -- names of parts: they become file names, so they have to hold on every machine

#: Longest part name; room is left for a prefix, an ending and a folder (own choice).
LONGEST: Final = 80

_SAFE: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]*")
_OTHER_LETTERS: Final = str.maketrans({"ß": "ss", "æ": "ae", "Æ": "AE", "ø": "o", "Ø": "O", "ł": "l", "Ł": "L"})
#: Names that Windows keeps for devices, whatever their ending (from memory).
_DEVICES: Final = frozenset(
    ("con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(1, 10)))
)


def part_name(stem: str) -> str:
    """The nearest name in plain letters, digits, `.`, `_` and `-`; '' when nothing of `stem` can be kept."""
    plain = unicodedata.normalize("NFKD", stem.translate(_OTHER_LETTERS)).encode("ascii", "ignore").decode()
    plain = re.sub(r"[^A-Za-z0-9._-]+", "-", plain)
    name = plain.strip("-._")[:LONGEST].rstrip("-._")
    return "" if name_trouble(name) else name


def name_trouble(name: str) -> str:
    """Why a text can't be a part's name; '' when it can."""
    if not name:
        return "the name is empty"
    if len(name) > LONGEST:
        return f"the name is longer than {LONGEST} letters"
    if not _SAFE.fullmatch(name) or name.endswith("."):
        return f"the name {name!r} has letters that don't fit every file name"
    if name.split(".")[0].lower() in _DEVICES:
        return f"the name {name!r} is kept for a device on some machines"
    return ""
