"""The shop's deduction table with one more row."""

from __future__ import annotations

import csv
import io
from typing import Final

from bracketgen.bending.deductions import DeductionRow, parse_deduction_table
from bracketgen.errors import Fault, InputFaults, Place
from bracketgen.units import MM_PER_INCH

_HEADER: Final = "metal,thickness_mm,inside_radius_mm,die_mm,turn_deg,deduction_mm,remark"


def with_row(text: str, name: str, row: DeductionRow, remark: str) -> str:
    """The table's text with the row at its end, in the columns and units that it has; a new table for empty text.

    Raises InputFaults for a faulty table, one that has the bend already, or one whose columns can't hold the row.
    """
    head = _header_of(text)
    if not head:
        text, head = text + ("" if not text or text.endswith("\n") else "\n") + _HEADER + "\n", _HEADER
    else:
        parse_deduction_table(text, name)
    columns = [word.strip() for word in next(csv.reader([head]))]
    lines = [] if "remark" in columns else [f"# {remark}"]
    lines.append(_line([_cell(column, row, remark) for column in columns]))
    if row.inside_radius_mm is not None and not any(c.startswith("inside_radius") for c in columns) and not row.die_mm:
        what, cure = "the table has no column for the inside radius", "add inside_radius_mm, or name the die"
        raise InputFaults([Fault(Place(name), what, cure)])
    longer = text + ("" if text.endswith("\n") else "\n") + "\n".join(lines) + "\n"
    parse_deduction_table(longer, name)
    return longer


def _header_of(text: str) -> str:
    lines = (line.strip() for line in text.removeprefix("\ufeff").splitlines())
    return next((line for line in lines if line and not line.startswith("#")), "")


def _cell(column: str, row: DeductionRow, remark: str) -> str:
    if column in ("metal", "remark"):
        return row.metal if column == "metal" else remark
    if column in ("turn_deg", "between_deg"):
        return _number(row.turn_deg if column == "turn_deg" else 180.0 - row.turn_deg)
    word, unit = column.rsplit("_", 1)
    values = {
        "thickness": row.thickness_mm,
        "inside_radius": row.inside_radius_mm,
        "die": row.die_mm,
        "deduction": row.deduction_mm,
    }
    value = values[word]
    if value is None:
        return ""
    return _number(value / float(MM_PER_INCH), 5) if unit == "in" else _number(value)


def _number(value: float, places: int = 3) -> str:
    text = f"{value:.{places}f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _line(cells: list[str]) -> str:
    stream = io.StringIO()
    csv.writer(stream, lineterminator="").writerow(cells)
    return stream.getvalue()
