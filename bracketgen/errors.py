"""What can be wrong with what a person wrote, and how it is said."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """Where a fault stands: file name, line and column, both counted from 1 (0 = unknown)."""

    file: str
    line: int = 0
    column: int = 0

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}" if self.line else self.file


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong in the input.

    `what` says what was given and why it can't be used; `cure` what is allowed, with the nearest right word.
    """

    place: Place
    what: str
    cure: str = ""

    def __str__(self) -> str:
        return f"{self.place}: {self.what}" + (f"; {self.cure}" if self.cure else "")


class InputFaults(Exception):
    """All faults of one input, found in one run."""

    def __init__(self, faults: tuple[Fault, ...] | list[Fault]) -> None:
        self.faults = tuple(sorted(faults, key=lambda f: f.place))
        super().__init__("\n".join(str(f) for f in self.faults))


class GeometryFault(ValueError):
    """A shape that can't be made exactly; `at` is the place in the panel's frame, in mm, when known."""

    def __init__(self, what: str, at: tuple[float, float] | None = None, cure: str = "") -> None:
        self.what = what
        self.at = at
        self.cure = cure
        where = f" at ({at[0]:.2f}, {at[1]:.2f}) mm" if at else ""
        super().__init__(what + where)


class WriteFault(Exception):
    """A file that was written does not say what the model says; nothing is left behind."""


# -- a table that a person wrote as CSV: its cells, each with its place

_QUOTED = re.compile(r'\s*"((?:[^"]|"")*)"\s*')


@dataclass(frozen=True, slots=True)
class Cell:
    """A text of the table and where it stands."""

    text: str
    place: Place


def csv_lines(text: str) -> Iterator[tuple[int, str]]:
    """Every line of a CSV text that is neither empty nor a remark (#), with its number from 1."""
    lines = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n").split("\n")
    return ((n, line) for n, line in enumerate(lines, start=1) if line.strip() and not line.lstrip().startswith("#"))


def csv_cells(line: str, number: int, file: str, comma: str = ",") -> list[Cell]:
    """The cells of one line. A cell may stand in double quotes, with a double quote inside written twice."""
    cells: list[Cell] = []
    at = 0
    while at <= len(line):
        quoted = _QUOTED.match(line, at)
        if quoted and (quoted.end() == len(line) or line[quoted.end()] == comma):
            raw, end = line[at : quoted.end()], quoted.end()
            text = quoted[1].replace('""', '"')
        else:
            end = line.find(comma, at) if comma in line[at:] else len(line)
            raw = text = line[at:end]
        lead = len(raw) - len(raw.lstrip())
        cells.append(Cell(text.strip(), Place(file, number, at + lead + 1)))
        at = end + 1
    return cells
