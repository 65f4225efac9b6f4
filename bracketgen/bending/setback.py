"""The section of one bend: what can be bent, where its tangent lines lie, and where its neutral line may lie.

Looking at a bend end-on, each leg is straight up to its tangent line, where the arc begins. A size is hardly
ever measured to that line, so every size says what it was measured to:

- the mould line, where the outer faces would meet if the corner were sharp;
- the outside: the mould line up to square, the outermost reach of the arc beyond it;
- the inside: the same two on the inner faces;
- the tangent line itself.
"""

from __future__ import annotations

from enum import StrEnum
from math import isfinite, nextafter, radians, tan
from typing import Final

#: Sharpest bend that a part may have: turned this far from flat. Beyond it lie hems and curls, another trade.
LARGEST_TURN_DEG: Final = 135.0


class BendFault(ValueError):
    """`what` says what was given and why it cannot be used; `cure` says what can."""

    def __init__(self, what: str, cure: str = "") -> None:
        self.what = what
        self.cure = cure
        super().__init__(f"{what}; {cure}" if cure else what)


def check_stock(inside_radius_mm: float, thickness_mm: float) -> None:
    """Refuse a thickness that is not above 0 or an inside radius below 0 (mm); raises BendFault."""
    if not (isfinite(thickness_mm) and thickness_mm > 0.0):
        raise BendFault(f"a thickness of {thickness_mm:g} mm cannot be bent", "give a thickness above 0 mm")
    if not (isfinite(inside_radius_mm) and inside_radius_mm >= 0.0):
        raise BendFault(f"an inside radius of {inside_radius_mm:g} mm does not exist", "give 0 mm or more")


def check_turn(turn_deg: float, most_deg: float = LARGEST_TURN_DEG) -> None:
    """Refuse a turn outside 0 < turn <= `most_deg` (degrees from flat); raises BendFault."""
    if isfinite(turn_deg) and 0.0 < turn_deg <= most_deg:
        return
    raise BendFault(
        f"a turn of {turn_deg:g} deg is outside the range of this formula",
        f"give the degrees turned from flat, above 0 and up to {most_deg:g} (90 = square)",
    )


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


# -- the K factor: the neutral line's distance from the inside face, divided by the thickness

#: Range in which the neutral line of bent sheet is found. Source: tables credited to Machinery's Handbook,
#: 26th ed., run from 0.38 to 0.48; its formulas give 0.350 to 0.452; DIN 6935 reaches 0.5 for wide bends;
#: 0.33 for soft metal in sharp bends. 0.25 as the lower end is common practice, no source.
LEAST_K: Final = 0.25
MOST_K: Final = 0.50


def check_k(k: float) -> None:
    """Refuse a K factor outside 0.25 to 0.50, saying which other ratio it may be; raises BendFault."""
    if isfinite(k) and LEAST_K <= k <= MOST_K:
        return
    raise BendFault(
        f"a K factor of {k:g} is outside {LEAST_K:.2f} to {MOST_K:.2f}",
        "K is the neutral line's distance from the inside face divided by the thickness" + _other_ratio(k),
    )


def _other_ratio(k: float) -> str:
    """What the number would be if it came from another convention; empty when none fits."""
    guesses = []
    if LEAST_K <= k / 2.0 <= MOST_K:
        guesses.append(f"if {k:g} is DIN 6935's correction (in half thicknesses), K is {k / 2.0:.3g}")
    if k > MOST_K and 1.0 - k >= LEAST_K:
        guesses.append(f"if it was measured from the outside face, K is {1.0 - k:.3g}")
    if LEAST_K <= k / 100.0 <= MOST_K:
        guesses.append(f"if it is a percentage of the thickness, K is {k / 100.0:.3g}")
    return "".join(f"; {guess}" for guess in guesses)


def k_of_allowance(allowance_mm: float, inside_radius_mm: float, thickness_mm: float, turn_deg: float) -> float:
    """The K factor that gives this allowance: (allowance / turn in radians - R) / t.

    Any number can come out; 0 is the inside face, 1 the outside face. Source: the definition turned round.
    """
    return (allowance_mm / radians(turn_deg) - inside_radius_mm) / thickness_mm


#: Rounding in arithmetic, far below any reading; DIN 6935 uses the upper bound itself in very open bends.
_ROUNDING: Final = 1e-9


def allowance_bounds_mm(inside_radius_mm: float, thickness_mm: float, turn_deg: float) -> tuple[float, float]:
    """Least and most allowance in mm: the inner arc, and the outer arc or both outside setbacks if longer.

    Below square the setbacks are a trifle longer than the outer arc and mean 'nothing is deducted'.
    Valid for 0 < turn < 180; raises BendFault outside. Source: plane geometry.
    """
    setbacks = 2.0 * outside_setback_mm(inside_radius_mm, thickness_mm, turn_deg)
    turn = radians(turn_deg)
    least = inside_radius_mm * turn
    most = max(setbacks, (inside_radius_mm + thickness_mm) * turn)
    room = _ROUNDING * (inside_radius_mm + thickness_mm)
    return least - room, most + room
