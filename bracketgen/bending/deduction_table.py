"""The shop's own bend deductions: what its brake and its dies were found to do.

The table is read from CSV text, one row a bend that was tried:

    metal, thickness_mm, inside_radius_mm, turn_deg, deduction_mm

Lengths may be in inches (`thickness_in` and so on). `die_mm` (V opening) may stand beside the inside radius
or in its place; `between_deg` in place of `turn_deg`. Lines that start with # are remarks.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import radians
from typing import Final

from bracketgen.bending.bend_fault import BendFault, check_stock, check_turn
from bracketgen.bending.setback import outside_setback_mm

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
