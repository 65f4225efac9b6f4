"""The K factor: how far the neutral line lies from the inside face, divided by the thickness."""

from __future__ import annotations

from math import isfinite, radians
from typing import Final

from bracketgen.bending.bend_fault import BendFault

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
