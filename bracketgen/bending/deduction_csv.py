"""Reading the shop's deduction table from CSV text, every fault with its line and column."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from difflib import get_close_matches
from math import isfinite, nan
from typing import Final

from bracketgen.bending.allowance_bounds import allowance_bounds_mm
from bracketgen.bending.deduction_table import DeductionRow, DeductionTable
from bracketgen.bending.setback import outside_setback_mm
from bracketgen.errors import Fault, InputFaults, Place

_MM_PER_INCH: Final = 25.4
_LENGTHS: Final = ("thickness", "inside_radius", "die", "deduction")
_COLUMNS: Final = (
    "metal",
    *(f"{length}_{unit}" for length in _LENGTHS for unit in ("mm", "in")),
    "turn_deg",
    "between_deg",
    "remark",
)
_DECIMAL: Final = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)", re.ASCII)
_EXAMPLE: Final = "metal,thickness_mm,inside_radius_mm,turn_deg,deduction_mm"


def parse_deduction_table(text: str, name: str) -> DeductionTable:
    """The table in CSV `text` of the file `name`; units stand in the header (see deduction_table).

    Raises InputFaults with every fault of the text, each with its line and, where known, its column.
    """
    lines = list(_lines(text))
    if not lines:
        raise InputFaults([Fault(Place(name), "the table is empty", f"the first line is {_EXAMPLE}")])
    header, *rest = lines
    faults = _header_faults(header, name)
    if faults:
        raise InputFaults(faults)
    columns = [cell.text for cell in header]
    rows: list[DeductionRow] = []
    for cells in rest:
        row, row_faults = _row(columns, cells, name)
        faults += row_faults
        if row is not None:
            faults += _twice(row, rows, name)
            rows.append(row)
    if not rest:
        faults.append(Fault(Place(name, header[0].line, 1), "the table has a header and no rows", "add a row a bend"))
    if faults:
        raise InputFaults(faults)
    return DeductionTable(name, tuple(rows))


@dataclass(frozen=True, slots=True)
class _Cell:
    text: str
    line: int
    column: int

    def place(self, name: str) -> Place:
        return Place(name, self.line, self.column)


def _lines(text: str) -> Iterator[list[_Cell]]:
    """Cells of every line that is neither empty nor a remark; columns are unknown (0) in quoted lines."""
    lines = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n").split("\n")
    for number, line in enumerate(lines, start=1):
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        yield list(_cells(line, number))


def _cells(line: str, number: int) -> Iterator[_Cell]:
    column = 1
    for raw in _split(line):
        lead = len(raw) - len(raw.lstrip())
        yield _Cell(raw.strip(), number, 0 if '"' in line else column + lead)
        column += len(raw) + 1


def _split(line: str) -> list[str]:
    if '"' not in line:
        return line.split(",")
    try:
        return next(csv.reader([line], skipinitialspace=True))
    except csv.Error:
        return line.split(",")


def _header_faults(header: list[_Cell], name: str) -> list[Fault]:
    faults = [_unknown_column(cell, name) for cell in header if cell.text not in _COLUMNS]
    names = [cell.text for cell in header]
    for number, cell in enumerate(header):
        if cell.text in names[:number]:
            faults.append(Fault(cell.place(name), f"the column '{cell.text}' stands twice", "strike out one"))
    if faults:
        return faults
    at = header[0].place(name)
    given = [column.rsplit("_", 1)[0] for column in names]
    for length in _LENGTHS:
        if given.count(length) > 1:
            faults.append(Fault(at, f"{length} is given in mm and in inches", "keep one of the two columns"))
    for choice in (("metal",), ("thickness",), ("inside_radius", "die"), ("turn", "between"), ("deduction",)):
        if not any(column in given for column in choice):
            faults.append(Fault(at, f"no column says the {' or the '.join(choice)}", f"for example: {_EXAMPLE}"))
    if "turn" in given and "between" in given:
        faults.append(Fault(at, "turn_deg and between_deg say the same thing twice", "keep one of the two columns"))
    return faults


def _unknown_column(cell: _Cell, name: str) -> Fault:
    if ";" in cell.text:
        return Fault(cell.place(name), "the cells are parted by semicolons", "write commas, and decimals with a point")
    if cell.text in _LENGTHS:
        return Fault(
            cell.place(name),
            f"the column '{cell.text}' has no unit",
            f"write {cell.text}_mm or {cell.text}_in",
        )
    if cell.text in ("angle", "angle_deg"):
        return Fault(
            cell.place(name),
            "'angle' can be read two ways",
            "write turn_deg (0 = flat) or between_deg (180 = flat)",
        )
    near = get_close_matches(cell.text, _COLUMNS, n=1)
    cure = f"did you mean '{near[0]}'?" if near else "known columns: " + ", ".join(_COLUMNS)
    return Fault(cell.place(name), f"the column '{cell.text}' is unknown", cure)


def _row(columns: list[str], cells: list[_Cell], name: str) -> tuple[DeductionRow | None, list[Fault]]:
    if len(cells) != len(columns):
        what = f"the row has {len(cells)} cells, the header {len(columns)}"
        return None, [Fault(Place(name, cells[0].line, 1), what, "write decimals with a point, as in 1.5")]
    faults: list[Fault] = []
    metal = ""
    numbers: dict[str, float] = {}
    for column, cell in zip(columns, cells, strict=True):
        if column == "metal":
            metal = cell.text
        elif column != "remark" and (cell.text or not _may_be_empty(column)):
            number = _number(column, cell, name)
            if isinstance(number, Fault):
                faults.append(number)
            else:
                numbers[column.rsplit("_", 1)[0]] = number
    at = Place(name, cells[0].line, 1)
    if not metal:
        faults.append(Fault(at, "the row names no metal", "write the metal's name as your descriptions do"))
    if faults:
        return None, faults
    return _checked(metal, numbers, at)


def _twice(row: DeductionRow, earlier: list[DeductionRow], name: str) -> list[Fault]:
    """The fault of a bend that already has a row."""
    for other in earlier:
        if replace(other, deduction_mm=row.deduction_mm, line=row.line) == row:
            what = f"this bend already stands in line {other.line}"
            return [Fault(Place(name, row.line, 1), what, "keep one of the two rows")]
    return []


def _may_be_empty(column: str) -> bool:
    return column.startswith(("inside_radius", "die"))


def _number(column: str, cell: _Cell, name: str) -> float | Fault:
    """The cell in mm or degrees from flat."""
    value = float(cell.text) if _DECIMAL.fullmatch(cell.text) else nan
    if not isfinite(value):
        return Fault(
            cell.place(name),
            f"'{cell.text}' is not a number for {column}",
            "write a decimal number without unit",
        )
    if column == "between_deg":
        value = 180.0 - value
    if column in ("turn_deg", "between_deg"):
        fits, range_text = 0.0 < value < 180.0, "above 0 and below 180"
    elif column.startswith("inside_radius"):
        fits, range_text = value >= 0.0, "0 or more"
    else:
        fits, range_text = value > 0.0 or column.startswith("deduction"), "above 0"
    if not fits:
        return Fault(cell.place(name), f"{column} is {cell.text}", f"it must be {range_text}")
    return value * _MM_PER_INCH if column.endswith("_in") else value


def _checked(metal: str, numbers: dict[str, float], at: Place) -> tuple[DeductionRow | None, list[Fault]]:
    """A row whose neutral line lies inside its metal, as far as its radius tells."""
    radius, die = numbers.get("inside_radius"), numbers.get("die")
    turn = numbers.get("turn", numbers.get("between"))
    thickness, deduction = numbers["thickness"], numbers["deduction"]
    assert turn is not None
    if radius is None and die is None:
        return None, [Fault(at, "the row gives neither inside radius nor die", "give at least one of them")]
    if radius is not None:
        setbacks = 2.0 * outside_setback_mm(radius, thickness, turn)
        least, most = allowance_bounds_mm(radius, thickness, turn)
        if not least <= setbacks - deduction <= most:
            what = f"a deduction of {deduction:g} mm would put the neutral line outside the metal"
            cure = f"for this bend it lies between {setbacks - most:.3f} and {setbacks - least:.3f} mm"
            return None, [Fault(at, what, cure)]
    return DeductionRow(metal, thickness, radius, die, turn, deduction, at.line), []
