"""Figures of one bend: its force, how far to turn it on the tool, what another inside radius does to the legs."""

from __future__ import annotations

from dataclasses import dataclass
from math import radians
from typing import Final

from bracketgen.bending.flat import Strip
from bracketgen.bending.setback import outside_setback_mm
from bracketgen.standards.metals import Metal, brake_metal, springback_ratio
from bracketgen.standards.table import LookupFault

#: F = 1.42 Rm t^2 / V. Source: press brake texts, from memory.
FORMULA_FACTOR: Final = 1.42
#: A printed chart for 450 MPa lies 3 to 10 % above the formula: the estimate's upper end.
#: Source: general air bending chart, read; the standards table 'dies' names it.
CHART_SHARE: Final = 1.10
FORCE_SOURCE: Final = "F = 1.42 Rm t²/V (press brake texts, from memory), plus 10 % as the air bending chart prints"
#: Strength that a brake's plate is stated for. Common practice, no source.
RATED_MPA: Final = 450.0


@dataclass(frozen=True, slots=True)
class Force:
    """Force of one bend: a metre of it and the whole, at the greatest tensile strength that may be delivered."""

    kn_per_m: float
    width_mm: float

    @property
    def kn(self) -> float:
        """Over the bend's width."""
        return self.kn_per_m * self.width_mm / 1000.0


def air_bend_kn_per_m(
    ultimate_mpa: float, thickness_mm: float, opening_mm: float, factor: float = FORMULA_FACTOR
) -> float:
    """Force a metre of bend over a V, N/mm = kN/m: factor Rm t² / V. All above 0; ValueError otherwise."""
    if min(ultimate_mpa, thickness_mm, opening_mm, factor) <= 0:
        raise ValueError("strength, thickness, V opening and factor must be above 0")
    return factor * ultimate_mpa * thickness_mm**2 / opening_mm


def estimated_force(most_ultimate_mpa: float, thickness_mm: float, opening_mm: float, width_mm: float) -> Force:
    """The force to reckon with: the formula at the greatest strength, and the chart's 10 % on top."""
    return Force(CHART_SHARE * air_bend_kn_per_m(most_ultimate_mpa, thickness_mm, opening_mm), width_mm)


def foldable_mm(rated_mm: float, ultimate_mpa: float) -> float:
    """Thickness that a leaf brake folds in another metal: the bending moment goes as Rm t².

    Source: plastic moment of a plate, t² Rm / 4 a width; the rating at 450 MPa is common practice, no source.
    """
    return float(rated_mm * (RATED_MPA / ultimate_mpa) ** 0.5)


# -- how far a bend must be turned on the tool so that it keeps its turn after release

FORMULA_SOURCE: Final = (
    "Kalpakjian & Schmid, Manufacturing Engineering and Technology, bending of sheet: "
    "Ri/Rf = 4 (Ri Y/(E T))³ - 3 (Ri Y/(E T)) + 1"
)
#: Beyond it the whole section stays elastic: the formula's own end (x = 1/2 gives 0).
_ELASTIC: Final = 0.5
_MOST_TURN_DEG: Final = 179.0
_HALVINGS: Final = 80


@dataclass(frozen=True, slots=True)
class TurnEstimate:
    """One answer: the turn on the tool, by which figure and on whose word."""

    turn_deg: float
    by: str
    source: str


@dataclass(frozen=True, slots=True)
class OverBend:
    """The turn to bend to, degrees from flat, with the range of the estimates; `turn_deg` is left after release."""

    turn_deg: float
    estimates: tuple[TurnEstimate, ...]

    @property
    def least_deg(self) -> float:
        """The smallest estimate."""
        return min(e.turn_deg for e in self.estimates)

    @property
    def most_deg(self) -> float:
        """The largest estimate."""
        return max(e.turn_deg for e in self.estimates)

    @property
    def to_deg(self) -> float:
        """The middle of the range, to begin with on a trial piece."""
        return (self.least_deg + self.most_deg) / 2


def radius_ratio(loaded_radius_mm: float, yield_mpa: float, modulus_gpa: float, thickness_mm: float) -> float:
    """Inside radius on the tool over inside radius after release.

    Valid while Ri Y / (E T) lies from 0 to 1/2 (beyond, nothing stays bent: ValueError). Any unit of length.
    Source: FORMULA_SOURCE.
    """
    x = loaded_radius_mm * yield_mpa / (modulus_gpa * 1000.0 * thickness_mm)
    if not 0.0 <= x < _ELASTIC:
        raise ValueError(f"Ri Y / (E T) is {x:g}: the formula holds from 0 to {_ELASTIC:g}")
    return 4.0 * x**3 - 3.0 * x + 1.0


def loaded_radius_mm(radius_mm: float, yield_mpa: float, modulus_gpa: float, thickness_mm: float) -> float:
    """The inside radius on the tool that comes out as `radius_mm` after release (radius_ratio solved)."""
    low, high = 0.0, min(radius_mm, 0.999 * _ELASTIC * modulus_gpa * 1000.0 * thickness_mm / yield_mpa)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if middle < radius_mm * radius_ratio(middle, yield_mpa, modulus_gpa, thickness_mm):
            low = middle
        else:
            high = middle
    return high


def turn_by_formula_deg(
    turn_deg: float, radius_mm: float, yield_mpa: float, modulus_gpa: float, thickness_mm: float
) -> float:
    """The turn on the tool for a turn and inside radius after release.

    The metal's middle keeps its length: turns go as (2 Rf/T + 1) to (2 Ri/T + 1), the same source.
    """
    loaded = loaded_radius_mm(radius_mm, yield_mpa, modulus_gpa, thickness_mm)
    return turn_deg * (2.0 * radius_mm / thickness_mm + 1.0) / (2.0 * loaded / thickness_mm + 1.0)


def over_bend(metal: Metal, turn_deg: float, inside_radius_mm: float, thickness_mm: float) -> OverBend:
    """The turn to bend to, with every estimate there is for the metal.

    The formula is tried with the least yield and with the greatest tensile strength in its place, which no sheet's
    yield goes beyond; the table where it holds a metal like it.
    """
    figures = brake_metal(metal.id)
    stresses = [("least yield", metal.yield_mpa), ("greatest tensile strength", figures.most_ultimate_mpa)]
    found = []
    for name, stress in stresses:
        if stress is None:
            continue
        turn = turn_by_formula_deg(turn_deg, inside_radius_mm, stress, metal.elastic_modulus_gpa, thickness_mm)
        found.append(TurnEstimate(min(turn, _MOST_TURN_DEG), f"formula, {name} {stress:g} MPa", FORMULA_SOURCE))
    return OverBend(turn_deg, (*found, *_by_table(figures.springback_row, turn_deg, inside_radius_mm / thickness_mm)))


def _by_table(row: str, turn_deg: float, radius_per_t: float) -> tuple[TurnEstimate, ...]:
    """The table's estimate; none where it holds nothing like the metal, or not this radius."""
    if not row or radius_per_t <= 0:
        return ()
    try:
        ratio = springback_ratio(row, radius_per_t)
    except LookupFault:
        return ()
    return (
        TurnEstimate(min(turn_deg / ratio, _MOST_TURN_DEG), f"table kR {ratio:.3g} ({row})", "tabellenbuch-springback"),
    )


# -- what it does to the sizes of a part when a bend comes out with another inside radius than its flat was made for


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
