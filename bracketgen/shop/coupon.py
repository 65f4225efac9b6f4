"""The test strip: cut from the stock, bent once in the middle; its legs tell what a bend takes.

What it tells goes into the shop's deduction table as one more row.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from statistics import fmean, stdev
from typing import Final

from bracketgen.bending.measured_strip import MeasuredStrip, StripAnswer, read_strip
from bracketgen.bending.setback import (
    LEAST_K,
    MOST_K,
    BendFault,
    allowance_bounds_mm,
    check_stock,
    check_turn,
    outside_setback_mm,
)
from bracketgen.bending.shop_table import DeductionRow, parse_deduction_table
from bracketgen.errors import Fault, InputFaults, Place
from bracketgen.units import INCH_MM, plain

#: A bend wider than this many thicknesses takes what a wide one takes (common practice, no source).
_WIDTH_PER_T: Final = 8.0
_LEAST_WIDTH_MM: Final = 40.0
_LEAST_LEG_MM: Final = 75.0
#: The legs' share over the shortest that the die holds (own choice).
_LEG_PER_SHORTEST: Final = 1.5
#: The corner cut off to tell the face, as a share of the width.
_CORNER_PER_WIDTH: Final = 0.25
_STEP_MM: Final = 5.0
#: Of a normal spread 95 % lie within 1.96 standard deviations (ISO/IEC Guide 98-3:2008, table G.1, from memory).
NORMAL_95: Final = 1.959964


#: Two-sided 95 % of Student's t for 1 to 9 degrees of freedom (ISO/IEC Guide 98-3:2008, table G.2, from memory).
STUDENT_95: Final = (12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262)
#: Upper 20 % of chi-square for 1 to 9 degrees of freedom (printed tables, from memory). Own choice: at 5 % too many
#: strips that differ are taken for alike, and the bar is too short.
CHI_SQUARE_80: Final = (1.642, 3.219, 4.642, 5.989, 7.289, 8.558, 9.803, 11.030, 12.242)
#: As many strips as the two tables reach.
MOST_STRIPS: Final = len(STUDENT_95) + 1


@dataclass(frozen=True, slots=True)
class Coupon:
    """The strip as it is cut, mm: bent across at half its length. `corner_mm` is the leg of the cut corner."""

    length_mm: float
    width_mm: float
    corner_mm: float

    @property
    def bend_line_mm(self) -> float:
        """From either end to the middle of the bend."""
        return self.length_mm / 2.0


def coupon(thickness_mm: float, shortest_leg_mm: float = 0.0) -> Coupon:
    """The strip for a thickness and the shortest leg that its tool holds, mm. Raises BendFault."""
    check_stock(0.0, thickness_mm)
    width = _stepped(max(_LEAST_WIDTH_MM, _WIDTH_PER_T * thickness_mm))
    leg = _stepped(max(_LEAST_LEG_MM, _LEG_PER_SHORTEST * shortest_leg_mm))
    return Coupon(2.0 * leg, width, _CORNER_PER_WIDTH * width)


def _stepped(mm: float) -> float:
    return math.ceil(mm / _STEP_MM - 1e-9) * _STEP_MM


class Scatter(StrEnum):
    """How far strips of one kind differ."""

    AS_READ = "no more than readings do"
    WIDER = "more than readings usually do"


@dataclass(frozen=True, slots=True)
class CouponAnswer:
    """K factor, and the deduction at the wanted turn, mm; each `bar` reaches as far either way in 95 of 100 strips.

    `deductions_mm` are those of the single strips as they came out. `scatter` says whether they differ by more than
    readings usually do, so that the bars come from how they differ.
    """

    strip: StripAnswer
    k_factor: float
    k_bar: float
    deduction_mm: float
    deduction_bar_mm: float
    turn_deg: float
    deductions_mm: tuple[float, ...] = ()
    scatter: Scatter = Scatter.AS_READ

    @property
    def believable(self) -> bool:
        """Whether K lies where bent sheet has it, or misses it by no more than the bar."""
        return LEAST_K - self.k_bar <= self.k_factor <= MOST_K + self.k_bar


def read_coupon(readings: MeasuredStrip, turn_deg: float) -> CouponAnswer:
    """What a bent strip says of bends turned `turn_deg`, though it came out at its own turn.

    The reading errors are taken as one standard deviation each, normal and independent. The K factor of the strip
    is carried over to the wanted turn, which is near its own: refused beyond 5 degrees. Raises BendFault.
    """
    check_turn(turn_deg)
    if abs(turn_deg - readings.turn_deg) > _MOST_OFF_DEG:
        raise BendFault(
            f"the strip came out at {readings.turn_deg:g} deg, which says little of {turn_deg:g} deg",
            "bend another strip nearer to the turn that is wanted",
        )
    told = read_strip(readings)
    r, t = readings.inside_radius_mm, readings.thickness_mm
    allowance = math.radians(turn_deg) * (r + told.k_factor * t)
    least, most = allowance_bounds_mm(r, t, turn_deg)
    # Readings may put the neutral line out of the metal by their own error; a table can't hold that.
    deduction = 2.0 * outside_setback_mm(r, t, turn_deg) - min(max(allowance, least), most)
    return CouponAnswer(
        told,
        told.k_factor,
        NORMAL_95 * told.k_error,
        deduction,
        NORMAL_95 * told.deduction_error_mm,
        turn_deg,
    )


def read_coupons(strips: Sequence[MeasuredStrip], turn_deg: float) -> CouponAnswer:
    """What several strips of one kind say together, alike in all but their lengths; 1 to MOST_STRIPS of them.

    The lengths are averaged, so their errors shrink with the root of the number; thickness, radius and turn are the
    same for all, so theirs do not. Where the deductions differ by more than readings explain (chi-square, 20 %), the
    bar comes from their own scatter by Student's t. Raises BendFault.
    """
    if not 1 <= len(strips) <= MOST_STRIPS:
        raise BendFault(f"{len(strips)} strips were measured", f"give 1 to {MOST_STRIPS}")
    for one in strips:
        read_coupon(one, turn_deg)
    deductions = tuple(one.first_leg_mm + one.second_leg_mm - one.blank_mm for one in strips)
    error, scatter = _length_error_mm(deductions, strips[0].length_error_mm)
    mean = replace(
        strips[0],
        blank_mm=fmean(s.blank_mm for s in strips),
        first_leg_mm=fmean(s.first_leg_mm for s in strips),
        second_leg_mm=fmean(s.second_leg_mm for s in strips),
        length_error_mm=error,
    )
    return replace(read_coupon(mean, turn_deg), deductions_mm=deductions, scatter=scatter)


def _length_error_mm(deductions_mm: Sequence[float], read_mm: float) -> tuple[float, Scatter]:
    """One standard deviation of each averaged length, three of which make a deduction."""
    free, root = len(deductions_mm) - 1, math.sqrt(len(deductions_mm))
    if free == 0:
        return read_mm, Scatter.AS_READ
    seen_mm = stdev(deductions_mm) / math.sqrt(3.0)
    if free * seen_mm**2 <= CHI_SQUARE_80[free - 1] * read_mm**2:
        return read_mm / root, Scatter.AS_READ
    return seen_mm * STUDENT_95[free - 1] / NORMAL_95 / root, Scatter.WIDER


#: Farther from the wanted turn another strip says more (own choice).
_MOST_OFF_DEG: Final = 5.0


# -- the shop's deduction table with one more row

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
        return plain(row.turn_deg if column == "turn_deg" else 180.0 - row.turn_deg, 3)
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
    return plain(value / INCH_MM, 5) if unit == "in" else plain(value, 3)


def _line(cells: list[str]) -> str:
    stream = io.StringIO()
    csv.writer(stream, lineterminator="").writerow(cells)
    return stream.getvalue()
