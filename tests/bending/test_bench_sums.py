"""The bench question: flats, and where the tangent, centre and sight lines go."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bracketgen.bending.allowance import Faa, KFactor, bend_metal
from bracketgen.bending.bench import BenchQuestion, answer_bench
from bracketgen.bending.setback import BendFault, SizeReference

LEGS = st.lists(st.floats(150.0, 400.0), min_size=2, max_size=6).map(tuple)
REFERENCES = st.sampled_from(SizeReference)


def test_without_legs_only_the_bend_is_answered() -> None:
    answer = answer_bench(BenchQuestion(KFactor(0.4), 2.0, 3.0, 90.0))
    assert answer.bend == bend_metal(KFactor(0.4), 3.0, 2.0, 90.0)
    assert (answer.straights_mm, answer.flat_mm, answer.lines) == ((), None, ())


def test_lines_of_the_faa_channel() -> None:
    # FAA-H-8083-31, chapter 4: flats 0.8 / 1.6 / 0.8 in, so the first tangent line stands 0.8 in from the
    # edge; sight line one radius (.16) further, towards the bend (from memory).
    inch = 25.4
    legs = (1.0 * inch, 2.0 * inch, 1.0 * inch)
    answer = answer_bench(BenchQuestion(Faa(), 0.04 * inch, 0.16 * inch, 90.0, legs, SizeReference.MOULD))
    first, second = answer.lines
    allowance = (0.01743 * 0.16 + 0.0078 * 0.04) * 90.0
    assert first.first_tangent_mm / inch == pytest.approx(0.8)
    assert first.sight_first_side_clamped_mm / inch == pytest.approx(0.96)
    assert first.centre_mm / inch == pytest.approx(0.8 + allowance / 2)
    assert first.second_tangent_mm / inch == pytest.approx(0.8 + allowance)
    assert second.first_tangent_mm / inch == pytest.approx(0.8 + allowance + 1.6)
    assert second.sight_second_side_clamped_mm / inch == pytest.approx(0.8 + 2 * allowance + 1.6 - 0.16)
    assert answer.flat_mm is not None
    assert second.second_tangent_mm / inch + 0.8 == pytest.approx(answer.flat_mm / inch)


@given(LEGS, st.floats(5.0, 135.0), st.floats(0.5, 8.0), st.floats(0.5, 5.0))
def test_outside_sizes_less_deductions_make_the_flat(
    legs: tuple[float, ...], turn: float, radius: float, sheet: float
) -> None:
    answer = answer_bench(BenchQuestion(KFactor(0.42), sheet, radius, turn, legs))
    assert answer.flat_mm == pytest.approx(sum(legs) - (len(legs) - 1) * answer.bend.deduction_mm)


@given(LEGS, st.floats(5.0, 135.0), REFERENCES)
def test_the_flat_is_the_same_turned_end_for_end(
    legs: tuple[float, ...], turn: float, reference: SizeReference
) -> None:
    there, back = (
        answer_bench(BenchQuestion(KFactor(0.42), 2.0, 3.0, turn, way, reference)) for way in (legs, legs[::-1])
    )
    assert there.flat_mm == pytest.approx(back.flat_mm)
    assert there.flat_mm is not None
    for line, mirrored in zip(there.lines, reversed(back.lines), strict=True):
        assert line.centre_mm == pytest.approx(there.flat_mm - mirrored.centre_mm)
        assert line.sight_first_side_clamped_mm == pytest.approx(there.flat_mm - mirrored.sight_second_side_clamped_mm)


def test_references_differ_by_what_they_measure_to() -> None:
    # Square bend, R 3, t 2: outside takes off 5, inside 3, tangent nothing, per bend and side.
    flats = {}
    for reference in SizeReference:
        flats[reference] = answer_bench(BenchQuestion(KFactor(0.4), 2.0, 3.0, 90.0, (50.0, 60.0), reference)).flat_mm
    tangent = flats[SizeReference.TANGENT]
    assert tangent is not None
    assert flats[SizeReference.OUTSIDE] == flats[SizeReference.MOULD] == pytest.approx(tangent - 10.0)
    assert flats[SizeReference.INSIDE] == pytest.approx(tangent - 6.0)


@pytest.mark.parametrize(
    ("legs", "said"),
    [
        ((50.0,), "single leg"),
        ((5.0, 50.0), "leg 1"),
        ((50.0, 10.0, 50.0), "leg 2"),
        ((50.0, 60.0, 4.0), "leg 3"),
        ((50.0, float("nan")), "leg 2"),
        ((-50.0, 50.0), "leg 1"),
    ],
)
def test_legs_without_straight_metal_are_refused(legs: tuple[float, ...], said: str) -> None:
    with pytest.raises(BendFault, match=said):
        answer_bench(BenchQuestion(KFactor(0.4), 2.0, 3.0, 90.0, legs))
