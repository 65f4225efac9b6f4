"""What it does to the sizes of a part when a bend comes out with another inside radius than its flat was made for."""

from __future__ import annotations

from math import radians

from bracketgen.bending.flat import Strip
from bracketgen.bending.setback import outside_setback_mm


def legs_off_mm(strip: Strip, thickness_mm: float, radius_mm: float) -> float:
    """By how much the outside sizes of both legs together come out larger (smaller: below 0) with that radius, mm.

    The blank stays as it was cut: two setbacks less the allowance, 2 SB - pi / 180 x turn x (R + K t), with the
    strip's own K factor, against the deduction that the flat was made with. Identities of the handbooks.
    """
    bend = strip.bend
    allowance = radians(bend.turn_deg) * (radius_mm + strip.metal.k_factor * thickness_mm)
    deduction = 2.0 * outside_setback_mm(radius_mm, thickness_mm, bend.turn_deg) - allowance
    return deduction - strip.metal.deduction_mm


def legs_off_words(strip: Strip, thickness_mm: float, radius_mm: float) -> str:
    """The same for the bench, 'both legs together come out about 1.8 mm shorter'."""
    off = legs_off_mm(strip, thickness_mm, radius_mm)
    return f"both legs together come out about {abs(off):.1f} mm {'shorter' if off < 0 else 'longer'}"
