"""Allowance from a measured strip: known K back again, honest error bars, and readings that cannot be."""

from __future__ import annotations

import random
from dataclasses import replace
from math import radians
from statistics import stdev

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bracketgen.bending.allowance import FromStrip, KFactor, bend_metal
from bracketgen.bending.measured_strip import KVerdict, MeasuredStrip, read_strip
from bracketgen.bending.setback import BendFault, SizeReference, distance_to_tangent_mm


def strip_of(
    k: float, radius: float, sheet: float, turn: float, reference: SizeReference = SizeReference.OUTSIDE
) -> MeasuredStrip:
    """The strip that a bend with this K would give: straights of 40 and 30 mm, measured to the reference."""
    arc = radians(turn) * (radius + k * sheet)
    off = distance_to_tangent_mm(reference, radius, sheet, turn)
    return MeasuredStrip(40.0 + arc + 30.0, 40.0 + off, 30.0 + off, sheet, radius, turn, reference)


@given(
    st.floats(0.25, 0.5),
    st.floats(0.0, 10.0),
    st.floats(0.5, 6.0),
    st.floats(5.0, 135.0),
    st.sampled_from(SizeReference),
)
def test_a_strip_of_known_k_gives_it_back(
    k: float, radius: float, sheet: float, turn: float, reference: SizeReference
) -> None:
    strip = strip_of(k, radius, sheet, turn, reference)
    answer = read_strip(strip)
    known = bend_metal(KFactor(k), radius, sheet, turn)
    assert answer.k_factor == pytest.approx(k, abs=1e-6)
    assert answer.allowance_mm == pytest.approx(known.allowance_mm, abs=1e-6)
    assert answer.deduction_mm == pytest.approx(known.deduction_mm, abs=1e-6)


def test_a_strip_worked_by_hand() -> None:
    # Blank 100.0, legs 54.0 and 49.6 outside, t 2, R 2, square: deduction 54.0 + 49.6 - 100.0 = 3.6,
    # allowance 8 - 3.6 = 4.4, K = (4.4 / 1.570796 - 2) / 2 = 0.40056.
    answer = read_strip(MeasuredStrip(100.0, 54.0, 49.6, 2.0, 2.0))
    assert answer.deduction_mm == pytest.approx(3.6)
    assert answer.allowance_mm == pytest.approx(4.4)
    assert answer.k_factor == pytest.approx(0.40056, abs=1e-5)
    assert answer.verdict is KVerdict.IN_RANGE


@pytest.mark.parametrize(("radius", "sheet", "turn"), [(2.0, 2.0, 60.0), (3.0, 1.5, 120.0), (6.0, 3.0, 45.0)])
def test_error_bars_are_the_scatter_of_repeated_readings(radius: float, sheet: float, turn: float) -> None:
    strip = strip_of(0.42, radius, sheet, turn)
    answer = read_strip(strip)
    chance = random.Random(1)
    ks, deductions = [], []
    for _ in range(4000):
        again = replace(
            strip,
            blank_mm=chance.gauss(strip.blank_mm, strip.length_error_mm),
            first_leg_mm=chance.gauss(strip.first_leg_mm, strip.length_error_mm),
            second_leg_mm=chance.gauss(strip.second_leg_mm, strip.length_error_mm),
            thickness_mm=chance.gauss(strip.thickness_mm, strip.thickness_error_mm),
            inside_radius_mm=chance.gauss(strip.inside_radius_mm, strip.radius_error_mm),
            turn_deg=chance.gauss(strip.turn_deg, strip.turn_error_deg),
        )
        told = read_strip(again)
        ks.append(told.k_factor)
        deductions.append(told.deduction_mm)
    assert answer.k_error == pytest.approx(stdev(ks), rel=0.06)
    assert answer.deduction_error_mm == pytest.approx(stdev(deductions), rel=0.06)


def test_exact_readings_have_no_error() -> None:
    exact = replace(
        strip_of(0.4, 2.0, 2.0, 90.0), length_error_mm=0, thickness_error_mm=0, radius_error_mm=0, turn_error_deg=0
    )
    answer = read_strip(exact)
    assert (answer.k_error, answer.allowance_error_mm, answer.deduction_error_mm) == (0.0, 0.0, 0.0)


def test_deduction_does_not_feel_the_radius_but_allowance_does() -> None:
    # Outside sizes and blank alone give the deduction: reading the radius badly must not widen it.
    strip = strip_of(0.42, 2.0, 2.0, 60.0)
    coarse = read_strip(replace(strip, radius_error_mm=0.5))
    fine = read_strip(replace(strip, radius_error_mm=0.0))
    assert coarse.deduction_error_mm == pytest.approx(fine.deduction_error_mm)
    assert coarse.allowance_error_mm > 3.0 * fine.allowance_error_mm


@pytest.mark.parametrize(
    ("k", "verdict"),
    [
        (0.40, KVerdict.IN_RANGE),
        (0.51, KVerdict.WITHIN_ERROR),
        (0.24, KVerdict.WITHIN_ERROR),
        (0.8, KVerdict.OUT_OF_RANGE),
    ],
)
def test_k_out_of_range_is_flagged(k: float, verdict: KVerdict) -> None:
    assert read_strip(strip_of(k, 2.0, 2.0, 90.0)).verdict is verdict


def test_a_strip_speaks_for_its_own_sheet_and_tool_at_any_turn() -> None:
    choice = FromStrip(strip_of(0.42, 2.0, 2.0, 90.0))
    assert bend_metal(choice, 2.0, 2.0, 60.0).k_factor == pytest.approx(0.42)
    assert bend_metal(choice, 2.05, 2.02, 120.0).k_factor == pytest.approx(0.42)
    for radius, sheet in ((2.0, 3.0), (3.0, 2.0)):
        with pytest.raises(BendFault, match="test strip was"):
            bend_metal(choice, radius, sheet, 90.0)
    with pytest.raises(BendFault, match=r"K = 0\.800"):
        bend_metal(FromStrip(strip_of(0.8, 2.0, 2.0, 90.0)), 2.0, 2.0, 90.0)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"blank_mm": 0.0}, "blank"),
        ({"first_leg_mm": -1.0}, "first leg"),
        ({"second_leg_mm": float("nan")}, "second leg"),
        ({"thickness_mm": 0.0}, "thickness"),
        ({"inside_radius_mm": -1.0}, "inside radius"),
        ({"turn_deg": 180.0}, "turn"),
        ({"length_error_mm": -0.1}, "below 0"),
        ({"thickness_error_mm": 2.0}, "as large as"),
        ({"turn_error_deg": 90.0}, "as large as"),
        ({"blank_mm": 60.0}, "neutral line"),
        ({"blank_mm": 90.0}, "neutral line"),
        ({"reference": SizeReference.TANGENT}, "neutral line"),
    ],
)
def test_readings_that_cannot_be_are_refused(change: dict[str, float | SizeReference], said: str) -> None:
    strip = replace(strip_of(0.4, 2.0, 2.0, 90.0), **change)  # type: ignore[arg-type]
    with pytest.raises(BendFault, match=said):
        read_strip(strip)
