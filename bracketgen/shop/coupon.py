"""The test strip: a strip cut from the stock, bent once in the middle, whose legs tell what a bend takes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from bracketgen.bending.allowance_bounds import allowance_bounds_mm
from bracketgen.bending.bend_fault import BendFault, check_stock, check_turn
from bracketgen.bending.k_factor import LEAST_K, MOST_K
from bracketgen.bending.measured_strip import MeasuredStrip, StripAnswer, read_strip
from bracketgen.bending.setback import outside_setback_mm

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


@dataclass(frozen=True, slots=True)
class CouponAnswer:
    """K factor, and the deduction at the wanted turn, mm; each `bar` reaches as far either way in 95 of 100 strips."""

    strip: StripAnswer
    k_factor: float
    k_bar: float
    deduction_mm: float
    deduction_bar_mm: float
    turn_deg: float

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


#: Farther from the wanted turn another strip says more (own choice).
_MOST_OFF_DEG: Final = 5.0
