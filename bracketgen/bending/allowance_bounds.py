"""Between what lengths an allowance must lie for the neutral line to be inside the metal."""

from __future__ import annotations

from math import radians
from typing import Final

from bracketgen.bending.setback import outside_setback_mm

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
