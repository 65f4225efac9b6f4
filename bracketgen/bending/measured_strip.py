"""Bend allowance from a strip that was cut, measured, bent, and measured again."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import StrEnum
from math import isfinite, sqrt
from typing import Final

from bracketgen.bending.setback import (
    LEAST_K,
    MOST_K,
    BendFault,
    SizeReference,
    allowance_bounds_mm,
    check_stock,
    check_turn,
    distance_to_tangent_mm,
    k_of_allowance,
    outside_setback_mm,
)

#: How well one reads a vernier calliper, a bevel protractor, a radius gauge (common practice, no source).
CALLIPER_MM: Final = 0.1
PROTRACTOR_DEG: Final = 0.5
RADIUS_GAUGE_MM: Final = 0.1
THICKNESS_MM: Final = 0.02


class KVerdict(StrEnum):
    """Whether the K factor of a strip can be believed."""

    IN_RANGE = "in range"
    WITHIN_ERROR = "out of range by less than the reading error"
    OUT_OF_RANGE = "out of range: measure again"


@dataclass(frozen=True, slots=True)
class MeasuredStrip:
    """Readings of one bent strip: mm, degrees from flat.

    `blank_mm` is its length before bending; both legs were measured to `reference`. The `_error` fields say
    how far each reading may be out, either way.
    """

    blank_mm: float
    first_leg_mm: float
    second_leg_mm: float
    thickness_mm: float
    inside_radius_mm: float
    turn_deg: float = 90.0
    reference: SizeReference = SizeReference.OUTSIDE
    length_error_mm: float = CALLIPER_MM
    thickness_error_mm: float = THICKNESS_MM
    radius_error_mm: float = RADIUS_GAUGE_MM
    turn_error_deg: float = PROTRACTOR_DEG


@dataclass(frozen=True, slots=True)
class StripAnswer:
    """What a strip says, each value with its error either way (same unit as the value)."""

    allowance_mm: float
    allowance_error_mm: float
    deduction_mm: float
    deduction_error_mm: float
    k_factor: float
    k_error: float
    verdict: KVerdict


def read_strip(strip: MeasuredStrip) -> StripAnswer:
    """Allowance, deduction and K factor of a strip, with error bars.

    allowance = blank - legs + 2 x distance from reference to tangent line; deduction = 2 x outside setback -
    allowance; K = (allowance / turn - R) / t. Errors: each reading moved by its own error, the changes added
    as root of the sum of squares (JCGM 100:2008, 5.1.2, from memory).
    A K factor outside 0.25 to 0.50 is flagged in the verdict. Raises BendFault when the readings cannot come
    from one strip: the neutral line would lie outside the metal by more than the reading error.
    """
    _check_readings(strip)
    allowance = strip_allowance_mm(strip)
    allowance_error = _error(strip_allowance_mm, strip)
    least, most = allowance_bounds_mm(strip.inside_radius_mm, strip.thickness_mm, strip.turn_deg)
    if not least - allowance_error <= allowance <= most + allowance_error:
        raise BendFault(
            f"the strip would need an allowance of {allowance:.2f} mm, but its neutral line is inside the "
            f"metal only from {least:.2f} to {most:.2f} mm",
            "check the blank's length, what the legs were measured to, and the inside radius",
        )
    k, k_error = _k(strip), _error(_k, strip)
    return StripAnswer(
        allowance,
        allowance_error,
        _deduction_mm(strip),
        _error(_deduction_mm, strip),
        k,
        k_error,
        _verdict(k, k_error),
    )


def strip_allowance_mm(strip: MeasuredStrip) -> float:
    """Bend allowance of the strip, mm: blank - first leg - second leg + 2 x distance to the tangent line."""
    off = distance_to_tangent_mm(strip.reference, strip.inside_radius_mm, strip.thickness_mm, strip.turn_deg)
    return strip.blank_mm - strip.first_leg_mm - strip.second_leg_mm + 2.0 * off


def _deduction_mm(strip: MeasuredStrip) -> float:
    setback = outside_setback_mm(strip.inside_radius_mm, strip.thickness_mm, strip.turn_deg)
    return 2.0 * setback - strip_allowance_mm(strip)


def _k(strip: MeasuredStrip) -> float:
    allowance = strip_allowance_mm(strip)
    return k_of_allowance(allowance, strip.inside_radius_mm, strip.thickness_mm, strip.turn_deg)


def _verdict(k: float, k_error: float) -> KVerdict:
    if LEAST_K <= k <= MOST_K:
        return KVerdict.IN_RANGE
    if LEAST_K - k_error <= k <= MOST_K + k_error:
        return KVerdict.WITHIN_ERROR
    return KVerdict.OUT_OF_RANGE


def _error(value: Callable[[MeasuredStrip], float], strip: MeasuredStrip) -> float:
    """How far the value may be out: each reading's larger change either way, root of the sum of squares."""
    here = value(strip)
    changes = [max(abs(value(low) - here), abs(value(high) - here)) for low, high in _moved_readings(strip)]
    return sqrt(sum(change**2 for change in changes))


def _moved_readings(strip: MeasuredStrip) -> list[tuple[MeasuredStrip, MeasuredStrip]]:
    """The strip with one reading after another moved down and up by its error, kept possible."""
    s = strip
    length, radius, thickness, turn = (
        s.length_error_mm,
        s.radius_error_mm,
        s.thickness_error_mm,
        s.turn_error_deg,
    )
    return [
        (replace(s, blank_mm=s.blank_mm - length), replace(s, blank_mm=s.blank_mm + length)),
        (replace(s, first_leg_mm=s.first_leg_mm - length), replace(s, first_leg_mm=s.first_leg_mm + length)),
        (
            replace(s, second_leg_mm=s.second_leg_mm - length),
            replace(s, second_leg_mm=s.second_leg_mm + length),
        ),
        (
            replace(s, inside_radius_mm=max(0.0, s.inside_radius_mm - radius)),
            replace(s, inside_radius_mm=s.inside_radius_mm + radius),
        ),
        (
            replace(s, thickness_mm=s.thickness_mm - thickness),
            replace(s, thickness_mm=s.thickness_mm + thickness),
        ),
        (replace(s, turn_deg=s.turn_deg - turn), replace(s, turn_deg=s.turn_deg + turn)),
    ]


def _check_readings(strip: MeasuredStrip) -> None:
    check_stock(strip.inside_radius_mm, strip.thickness_mm)
    check_turn(strip.turn_deg)
    for what, size in (
        ("blank", strip.blank_mm),
        ("first leg", strip.first_leg_mm),
        ("second leg", strip.second_leg_mm),
    ):
        if not (isfinite(size) and size > 0.0):
            raise BendFault(f"the strip's {what} is {size:g} mm", "give a length above 0 mm")
    errors = (strip.length_error_mm, strip.thickness_error_mm, strip.radius_error_mm, strip.turn_error_deg)
    if not all(isfinite(error) and error >= 0.0 for error in errors):
        raise BendFault("a reading error is below 0", "give 0 or more")
    if strip.thickness_error_mm >= strip.thickness_mm or strip.turn_error_deg >= strip.turn_deg:
        raise BendFault("a reading error is as large as the reading", "measure more finely")
