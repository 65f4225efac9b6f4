"""The shop's own bend deductions: what its brake and its dies were found to do.

The table is read from CSV text, one row a bend that was tried:

    metal, thickness_mm, inside_radius_mm, turn_deg, deduction_mm

Lengths may be in inches (`thickness_in` and so on). `die_mm` (V opening) may stand beside the inside radius
or in its place; `between_deg` in place of `turn_deg`. Lines that start with # are remarks.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from itertools import pairwise
from math import isfinite, nan, radians
from typing import Final

from bracketgen.bending.setback import BendFault, allowance_bounds_mm, check_stock, check_turn, outside_setback_mm
from bracketgen.errors import Cell, Fault, InputFaults, Place, csv_cells, csv_lines
from bracketgen.units import INCH_MM, meant

#: Sheets this near in thickness are one sheet, radii this near one tool (common practice, no source).
SAME_THICKNESS_MM: Final = 0.05
SAME_TOOL_MM: Final = 0.1
#: Turns this near are the same turn.
SAME_TURN_DEG: Final = 1e-6
_NAMED_ROWS: Final = 3


@dataclass(frozen=True, slots=True)
class DeductionRow:
    """One bend that was tried: inside radius or die (V opening), or both; mm and degrees from flat.

    `deduction_mm` is what comes off the sum of the two outside sizes; above 90 deg those sizes run to the
    outermost reach of the arc. `line` is the row's line in its file, 0 when it has none.
    """

    metal: str
    thickness_mm: float
    inside_radius_mm: float | None
    die_mm: float | None
    turn_deg: float
    deduction_mm: float
    line: int = 0

    def __str__(self) -> str:
        radius = "" if self.inside_radius_mm is None else f", inside radius {self.inside_radius_mm:g} mm"
        die = "" if self.die_mm is None else f", die {self.die_mm:g} mm"
        line = f"line {self.line}: " if self.line else ""
        return f"{line}{self.metal} {self.thickness_mm:g} mm{radius}{die}, turn {self.turn_deg:g} deg"


@dataclass(frozen=True, slots=True)
class DeductionTable:
    """Rows of one shop, and the file name they came from."""

    name: str
    rows: tuple[DeductionRow, ...]

    def look_up(
        self,
        metal: str,
        thickness_mm: float,
        inside_radius_mm: float,
        turn_deg: float,
        die_mm: float | None = None,
    ) -> float:
        """Bend deduction in mm for metal, thickness, inside radius (and die) that the table holds.

        Between two turns the allowance (2 setbacks less the deduction) is taken as a straight line, because
        it grows evenly with the turn; the deduction itself does not, and has a kink at 90 deg.
        Nothing is carried over to another metal, thickness or radius, or beyond the last turn: BendFault,
        naming the nearest rows.
        """
        check_stock(inside_radius_mm, thickness_mm)
        check_turn(turn_deg)
        wanted = DeductionRow(metal, thickness_mm, inside_radius_mm, die_mm, turn_deg, 0.0)
        fitting = [row for row in self.rows if _same_bend(row, wanted)]
        if not fitting:
            raise self._fault(wanted, "has no such bend", self.rows)
        _refuse_two_answers(self.name, fitting)
        below = [row for row in fitting if row.turn_deg <= turn_deg + SAME_TURN_DEG]
        above = [row for row in fitting if row.turn_deg >= turn_deg - SAME_TURN_DEG]
        if not below or not above:
            raise self._fault(wanted, "does not reach this turn", fitting)
        low = max(below, key=lambda row: row.turn_deg)
        high = min(above, key=lambda row: row.turn_deg)
        return _between(low, high, wanted, inside_radius_mm)

    def _fault(self, wanted: DeductionRow, why: str, rows: tuple[DeductionRow, ...] | list[DeductionRow]) -> BendFault:
        nearest = sorted(rows, key=lambda row: _distance(row, wanted))[:_NAMED_ROWS]
        named = "; nearest rows: " + " | ".join(map(str, nearest)) if nearest else ""
        return BendFault(
            f"the shop table {self.name} {why}: {wanted}{named}",
            "bend a test strip and add its row, or choose another way of finding the allowance",
        )


def _plain(metal: str) -> str:
    return " ".join(metal.split()).casefold()


def _same_bend(row: DeductionRow, wanted: DeductionRow) -> bool:
    """Same metal, sheet and tool; turn aside. A row that knows only its die needs that die to be named."""
    if _plain(row.metal) != _plain(wanted.metal):
        return False
    if abs(row.thickness_mm - wanted.thickness_mm) > SAME_THICKNESS_MM:
        return False
    if row.inside_radius_mm is None and wanted.die_mm is None:
        return False
    return _same_tool(row.inside_radius_mm, wanted.inside_radius_mm) and _same_tool(row.die_mm, wanted.die_mm)


def _same_tool(has_mm: float | None, wants_mm: float | None) -> bool:
    return has_mm is None or wants_mm is None or abs(has_mm - wants_mm) <= SAME_TOOL_MM


def _refuse_two_answers(name: str, rows: list[DeductionRow]) -> None:
    """Rows of one turn that say different things can't both be right."""
    ordered = sorted(rows, key=lambda row: row.turn_deg)
    for one, other in pairwise(ordered):
        if other.turn_deg - one.turn_deg <= SAME_TURN_DEG:
            raise BendFault(
                f"two rows of the shop table {name} fit this bend: {one} | {other}",
                "name the die, or strike out the row that is not yours",
            )


def _between(low: DeductionRow, high: DeductionRow, wanted: DeductionRow, inside_radius_mm: float) -> float:
    """Deduction of the wanted turn, its allowance lying on the line between two rows' allowances."""
    if high.turn_deg - low.turn_deg <= SAME_TURN_DEG:
        return low.deduction_mm

    def setbacks_mm(turn_deg: float) -> float:
        return 2.0 * outside_setback_mm(inside_radius_mm, wanted.thickness_mm, turn_deg)

    share = (wanted.turn_deg - low.turn_deg) / (high.turn_deg - low.turn_deg)
    first = setbacks_mm(low.turn_deg) - low.deduction_mm
    last = setbacks_mm(high.turn_deg) - high.deduction_mm
    return setbacks_mm(wanted.turn_deg) - (first + share * (last - first))


def _distance(row: DeductionRow, wanted: DeductionRow) -> float:
    """How unlike two rows are; another metal weighs most, then the sheet, the tool and the turn."""
    far = 0.0 if _plain(row.metal) == _plain(wanted.metal) else 100.0
    far += 10.0 * abs(row.thickness_mm - wanted.thickness_mm) / wanted.thickness_mm
    for has, wants in ((row.inside_radius_mm, wanted.inside_radius_mm), (row.die_mm, wanted.die_mm)):
        if has is not None and wants is not None:
            far += abs(has - wants) / wanted.thickness_mm
    return far + abs(radians(row.turn_deg - wanted.turn_deg))


# -- the table as CSV text, every fault with its line and column

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
    lines = [csv_cells(line, number, name) for number, line in csv_lines(text)]
    if not lines:
        raise InputFaults([Fault(Place(name), "the table is empty", f"the first line is {_EXAMPLE}")])
    header, *rest = lines
    faults = _header_faults(header)
    if faults:
        raise InputFaults(faults)
    columns = [cell.text for cell in header]
    rows: list[DeductionRow] = []
    for cells in rest:
        row, row_faults = _row(columns, cells)
        faults += row_faults
        if row is not None:
            faults += _twice(row, rows, name)
            rows.append(row)
    if not rest:
        faults.append(Fault(header[0].place, "the table has a header and no rows", "add a row a bend"))
    if faults:
        raise InputFaults(faults)
    return DeductionTable(name, tuple(rows))


def _header_faults(header: list[Cell]) -> list[Fault]:
    faults = [_unknown_column(cell) for cell in header if cell.text not in _COLUMNS]
    names = [cell.text for cell in header]
    for number, cell in enumerate(header):
        if cell.text in names[:number]:
            faults.append(Fault(cell.place, f"the column '{cell.text}' stands twice", "strike out one"))
    if faults:
        return faults
    at = header[0].place
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


def _unknown_column(cell: Cell) -> Fault:
    if ";" in cell.text:
        return Fault(cell.place, "the cells are parted by semicolons", "write commas, and decimals with a point")
    if cell.text in _LENGTHS:
        return Fault(
            cell.place,
            f"the column '{cell.text}' has no unit",
            f"write {cell.text}_mm or {cell.text}_in",
        )
    if cell.text in ("angle", "angle_deg"):
        return Fault(
            cell.place,
            "'angle' can be read two ways",
            "write turn_deg (0 = flat) or between_deg (180 = flat)",
        )
    cure = meant(cell.text, _COLUMNS) or f"known columns: {', '.join(_COLUMNS)}"
    return Fault(cell.place, f"the column '{cell.text}' is unknown", cure)


def _row(columns: list[str], cells: list[Cell]) -> tuple[DeductionRow | None, list[Fault]]:
    at = replace(cells[0].place, column=1)
    if len(cells) != len(columns):
        what = f"the row has {len(cells)} cells, the header {len(columns)}"
        return None, [Fault(at, what, "write decimals with a point, as in 1.5")]
    faults: list[Fault] = []
    metal = ""
    numbers: dict[str, float] = {}
    for column, cell in zip(columns, cells, strict=True):
        if column == "metal":
            metal = cell.text
        elif column != "remark" and (cell.text or not _may_be_empty(column)):
            number = _number(column, cell)
            if isinstance(number, Fault):
                faults.append(number)
            else:
                numbers[column.rsplit("_", 1)[0]] = number
    # A quotation mark left over is one that was never closed.
    if not metal or '"' in metal:
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


def _number(column: str, cell: Cell) -> float | Fault:
    """The cell in mm or degrees from flat."""
    value = float(cell.text) if _DECIMAL.fullmatch(cell.text) else nan
    if not isfinite(value):
        return Fault(
            cell.place,
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
        return Fault(cell.place, f"{column} is {cell.text}", f"it must be {range_text}")
    return value * INCH_MM if column.endswith("_in") else value


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
