"""How far a bend's tangent line lies from the corner or face that a size was measured to.

Looking at a bend end-on, each leg is straight up to its tangent line, where the arc begins. A size is hardly
ever measured to that line, so every size says what it was measured to:

- the mould line, where the outer faces would meet if the corner were sharp;
- the outside: the mould line up to square, the outermost reach of the arc beyond it;
- the inside: the same two on the inner faces;
- the tangent line itself.
"""

from __future__ import annotations

from enum import StrEnum
from math import nextafter, radians, tan
from typing import Final

from bracketgen.bending.bend_fault import check_stock, check_turn

#: From this turn on, the arc itself is the outermost thing on the leg, and the virtual corner only a drawing.
SQUARE_DEG: Final = 90.0
#: The two faces of a bend turned by 180 deg are parallel and meet in no corner.
BELOW_HALF_TURN_DEG: Final = nextafter(180.0, 0.0)


class SizeReference(StrEnum):
    """What a leg's size was measured to at its bend."""

    OUTSIDE = "outside"
    MOULD = "mould"
    INSIDE = "inside"
    TANGENT = "tangent"


def mould_setback_mm(inside_radius_mm: float, thickness_mm: float, turn_deg: float) -> float:
    """From the mould line (virtual sharp outer corner) to the tangent line, mm.

    (R + t) tan(turn / 2). Valid for 0 < turn < 180; raises BendFault outside.
    Source: FAA AC 43.13-1B chapter 4, SB = K (R + T) with K = tan(turn / 2), K chart in table 4-7, p. 4-15.
    """
    check_stock(inside_radius_mm, thickness_mm)
    check_turn(turn_deg, BELOW_HALF_TURN_DEG)
    return (inside_radius_mm + thickness_mm) * tan(radians(turn_deg) / 2.0)


def outside_setback_mm(inside_radius_mm: float, thickness_mm: float, turn_deg: float) -> float:
    """From the outside of the bend to the tangent line, mm.

    Up to square: the mould setback. Above square: R + t, the reach of the outer arc, because that is where a
    square or a calliper touches; the mould line then floats far outside the metal.
    Both agree at 90 deg. Valid for 0 < turn < 180; raises BendFault outside.
    Source: the size basis of DIN 6935, whose v changes from 2 (r + s) tan(turn / 2) to 2 (r + s) where the
    faces stand 90 deg or less apart; basis deduced from the two formulas.
    """
    if turn_deg <= SQUARE_DEG:
        return mould_setback_mm(inside_radius_mm, thickness_mm, turn_deg)
    check_stock(inside_radius_mm, thickness_mm)
    check_turn(turn_deg, BELOW_HALF_TURN_DEG)
    return inside_radius_mm + thickness_mm


def inside_setback_mm(inside_radius_mm: float, thickness_mm: float, turn_deg: float) -> float:
    """From the inside of the bend to the tangent line, mm.

    Up to square: R tan(turn / 2), to the corner where the inner faces would meet. Above square: R, the depth
    that the inner arc reaches, for the same reason as outside. Thickness plays no part; it is checked only.
    Valid for 0 < turn < 180; raises BendFault outside. Source: plane geometry.
    """
    check_stock(inside_radius_mm, thickness_mm)
    check_turn(turn_deg, BELOW_HALF_TURN_DEG)
    if turn_deg <= SQUARE_DEG:
        return inside_radius_mm * tan(radians(turn_deg) / 2.0)
    return inside_radius_mm


def distance_to_tangent_mm(
    reference: SizeReference, inside_radius_mm: float, thickness_mm: float, turn_deg: float
) -> float:
    """What to take off a size measured to `reference` to reach the tangent line, mm, never negative.

    Valid for 0 < turn < 180; raises BendFault outside.
    """
    match reference:
        case SizeReference.OUTSIDE:
            return outside_setback_mm(inside_radius_mm, thickness_mm, turn_deg)
        case SizeReference.MOULD:
            return mould_setback_mm(inside_radius_mm, thickness_mm, turn_deg)
        case SizeReference.INSIDE:
            return inside_setback_mm(inside_radius_mm, thickness_mm, turn_deg)
        case SizeReference.TANGENT:
            check_stock(inside_radius_mm, thickness_mm)
            check_turn(turn_deg, BELOW_HALF_TURN_DEG)
            return 0.0
