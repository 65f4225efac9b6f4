"""The force of an air bend, and what a leaf brake folds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

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
