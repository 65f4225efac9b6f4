"""Setbacks against constructed bends, allowances against their identities, and what is refused."""

from __future__ import annotations

from itertools import pairwise
from math import cos, dist, pi, radians, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bracketgen.bending.allowance import (
    AllowanceChoice,
    Din6935,
    Faa,
    Handbook,
    HandbookRow,
    KFactor,
    Method,
    ShopTable,
    bend_metal,
    din_6935_correction,
    din_6935_deduction_mm,
)
from bracketgen.bending.setback import (
    BendFault,
    SizeReference,
    distance_to_tangent_mm,
    inside_setback_mm,
    mould_setback_mm,
    outside_setback_mm,
)
from bracketgen.bending.shop_table import DeductionRow, DeductionTable

RADII = st.floats(0.0, 40.0)
BENT_RADII = st.floats(0.6, 40.0)
SHEETS = st.floats(0.3, 20.0)
TURNS = st.floats(0.5, 135.0)
KS = st.floats(0.25, 0.50)
METHODS: list[AllowanceChoice] = [KFactor(0.42), Din6935(), Faa(), *(Handbook(row) for row in HandbookRow)]


def on_arc(radius: float, centre_y: float, turn_deg: float) -> tuple[float, float]:
    """Point of a face after `turn`, the leg lying along -x, its tangent line at x = 0, the bend turning up."""
    turn = radians(turn_deg)
    return radius * sin(turn), centre_y - radius * cos(turn)


def corner_x(radius: float, centre_y: float, turn_deg: float) -> float:
    """Where the second leg's face, run on backwards, meets the first leg's: the virtual corner."""
    x, y = on_arc(radius, centre_y, turn_deg)
    first_face_y = centre_y - radius
    return x - (y - first_face_y) * cos(radians(turn_deg)) / sin(radians(turn_deg))


def reach_x(radius: float, centre_y: float, turn_deg: float) -> float:
    """How far the arc reaches past the tangent line, by walking along it."""
    steps = 4000
    return max(on_arc(radius, centre_y, turn_deg * step / steps)[0] for step in range(steps + 1))


@given(RADII, SHEETS, TURNS)
def test_mould_setback_is_where_the_outer_faces_meet(radius: float, sheet: float, turn: float) -> None:
    assert mould_setback_mm(radius, sheet, turn) == pytest.approx(corner_x(radius + sheet, radius, turn), rel=1e-6)


@given(st.floats(0.1, 40.0), SHEETS, st.floats(0.5, 90.0))
def test_inside_setback_up_to_square_is_where_the_inner_faces_meet(radius: float, sheet: float, turn: float) -> None:
    assert inside_setback_mm(radius, sheet, turn) == pytest.approx(corner_x(radius, radius, turn), rel=1e-6)


@pytest.mark.parametrize("turn", [91.0, 100.0, 120.0, 135.0])
@pytest.mark.parametrize(("radius", "sheet"), [(0.0, 1.0), (2.0, 2.0), (10.0, 1.5)])
def test_beyond_square_the_sizes_run_to_the_reach_of_the_arcs(radius: float, sheet: float, turn: float) -> None:
    assert outside_setback_mm(radius, sheet, turn) == pytest.approx(reach_x(radius + sheet, radius, turn), rel=1e-6)
    assert inside_setback_mm(radius, sheet, turn) == pytest.approx(reach_x(radius, radius, turn), rel=1e-6)


@given(RADII, SHEETS)
def test_setbacks_have_no_step_at_square(radius: float, sheet: float) -> None:
    for setback in (outside_setback_mm, inside_setback_mm):
        below, above = (setback(radius, sheet, turn) for turn in (90.0 - 1e-7, 90.0 + 1e-7))
        assert above == pytest.approx(below, abs=1e-6)


def test_distance_to_tangent_follows_the_reference() -> None:
    # R 3, t 2, turn 120: tan 60 deg = 1.7320508; beyond square outside and inside reach R + t and R.
    expected = {
        SizeReference.OUTSIDE: 5.0,
        SizeReference.MOULD: 5.0 * 1.7320508,
        SizeReference.INSIDE: 3.0,
        SizeReference.TANGENT: 0.0,
    }
    for reference, off in expected.items():
        assert distance_to_tangent_mm(reference, 3.0, 2.0, 120.0) == pytest.approx(off)


@given(KS, RADII, SHEETS, TURNS)
def test_k_allowance_is_the_length_of_the_neutral_arc(k: float, radius: float, sheet: float, turn: float) -> None:
    neutral = radius + k * sheet
    steps = 400
    points = [on_arc(neutral, radius, turn * step / steps) for step in range(steps + 1)]
    walked = sum(dist(a, b) for a, b in pairwise(points))
    metal = bend_metal(KFactor(k), radius, sheet, turn)
    assert metal.allowance_mm == pytest.approx(walked, rel=1e-5)
    assert metal.allowance_mm == pytest.approx(pi / 180.0 * turn * (radius + k * sheet), rel=1e-12)
    assert metal.k_factor == pytest.approx(k, abs=1e-9)


@pytest.mark.parametrize("method", METHODS, ids=str)
@given(radius=BENT_RADII, share=st.floats(0.1, 1.0), turn=TURNS)
def test_deduction_and_allowance_make_two_setbacks(
    method: AllowanceChoice, radius: float, share: float, turn: float
) -> None:
    sheet = radius * share
    metal = bend_metal(method, radius, sheet, turn)
    assert metal.setback_mm == outside_setback_mm(radius, sheet, turn)
    assert metal.deduction_mm + metal.allowance_mm == pytest.approx(2.0 * metal.setback_mm)
    assert pi / 180.0 * turn * (radius + metal.k_factor * sheet) == pytest.approx(metal.allowance_mm)
    assert metal.formula
    assert metal.source


@pytest.mark.parametrize("method", METHODS, ids=str)
@given(radius=BENT_RADII, share=st.floats(0.1, 0.9), turn=st.floats(15.0, 130.0), more=st.floats(1.01, 1.03))
def test_allowance_grows_with_turn_radius_and_sheet(
    method: AllowanceChoice, radius: float, share: float, turn: float, more: float
) -> None:
    sheet = radius * share
    here = bend_metal(method, radius, sheet, turn).allowance_mm
    assert bend_metal(method, radius, sheet, turn * more).allowance_mm > here
    assert bend_metal(method, radius * more, sheet, turn).allowance_mm > here
    if not isinstance(method, Din6935):
        assert bend_metal(method, radius, sheet * more, turn).allowance_mm > here


@given(KS, st.floats(0.001, 0.01), RADII, SHEETS, TURNS)
def test_allowance_grows_with_k(k: float, more: float, radius: float, sheet: float, turn: float) -> None:
    less = bend_metal(KFactor(max(0.25, k - more)), radius, sheet, turn).allowance_mm
    assert bend_metal(KFactor(min(0.5, max(0.25, k - more) + more)), radius, sheet, turn).allowance_mm >= less


@pytest.mark.parametrize("method", METHODS, ids=str)
@given(radius=BENT_RADII, share=st.floats(0.1, 1.0))
def test_no_step_at_square(method: AllowanceChoice, radius: float, share: float) -> None:
    below, above = (bend_metal(method, radius, radius * share, turn) for turn in (90.0 - 1e-7, 90.0 + 1e-7))
    assert above.allowance_mm == pytest.approx(below.allowance_mm, abs=1e-5)
    assert above.deduction_mm == pytest.approx(below.deduction_mm, abs=1e-5)


def test_din_correction_meets_its_cap_and_its_named_points() -> None:
    # DIN 6935: k = 0.65 at r = s, by the formula; 1 above r = 5 s, by its cap.
    assert din_6935_correction(2.0, 2.0) == 0.65
    assert din_6935_correction(20.0, 2.0) == 1.0
    assert bend_metal(Din6935(), 2.0, 2.0, 60.0).k_factor == pytest.approx(0.325)
    assert bend_metal(Din6935(), 20.0, 2.0, 120.0).k_factor == pytest.approx(0.5)


def test_din_neglects_bends_with_faces_more_than_165_deg_apart() -> None:
    assert din_6935_deduction_mm(3.0, 3.0, 14.99) == 0.0
    assert din_6935_deduction_mm(3.0, 3.0, 15.0) == pytest.approx(0.18 * 3.0, abs=0.01)
    assert "neglects" in bend_metal(Din6935(), 3.0, 3.0, 10.0).formula


def test_din_deduction_falls_below_zero_in_closed_bends_of_large_radius() -> None:
    # 2 (10 + 1) - 135 pi / 180 (10 + 0.5) = 22 - 24.74
    assert bend_metal(Din6935(), 10.0, 1.0, 135.0).deduction_mm == pytest.approx(-2.74, abs=0.005)


@pytest.mark.parametrize("sheet", [0.5, 0.8, 1.0, 1.5, 2.0, 3.0, 6.0, 10.0])
def test_din_refuses_sharp_bends_and_names_a_radius_that_it_takes(sheet: float) -> None:
    with pytest.raises(BendFault) as fault:
        bend_metal(Din6935(), 0.5 * sheet, sheet, 90.0)
    named = float(fault.value.cure.partition("from ")[2].split()[0])
    assert named < 0.52 * sheet + 0.01
    assert bend_metal(Din6935(), named, sheet, 90.0).k_factor >= 0.25


@given(BENT_RADII, st.floats(0.1, 1.0), TURNS)
def test_faa_formula_amounts_to_k_0_447(radius: float, share: float, turn: float) -> None:
    faa = bend_metal(Faa(), radius, radius * share, turn).allowance_mm
    assert faa == pytest.approx(bend_metal(KFactor(0.447), radius, radius * share, turn).allowance_mm, rel=2e-3)


def test_handbook_rows_imply_the_k_factors_of_their_formulas() -> None:
    # 0.55, 0.64, 0.71 over 1.5708 at a sharp corner: .350, .407, .452.
    ks = [bend_metal(Handbook(row), 0.0, 1.0, 90.0).k_factor for row in HandbookRow]
    assert ks == pytest.approx([0.350, 0.407, 0.452], abs=5e-4)


@pytest.mark.parametrize(
    ("k", "said"),
    [
        (0.9, "K is 0.45"),
        (0.65, "K is 0.325"),
        (0.6, "outside face, K is 0.4"),
        (44.0, "K is 0.44"),
        (0.249, "0.25 to 0.50"),
        (0.501, "0.25 to 0.50"),
        (0.0, "inside face"),
        (-0.4, "inside face"),
        (float("nan"), "inside face"),
        (float("inf"), "inside face"),
    ],
)
def test_k_of_another_convention_is_refused_and_explained(k: float, said: str) -> None:
    with pytest.raises(BendFault) as fault:
        bend_metal(KFactor(k), 2.0, 2.0, 90.0)
    assert said in str(fault.value)


@pytest.mark.parametrize("k", [0.25, 0.5])
def test_the_ends_of_the_k_range_are_taken(k: float) -> None:
    assert bend_metal(KFactor(k), 2.0, 2.0, 90.0).k_factor == pytest.approx(k)


@pytest.mark.parametrize(
    ("radius", "sheet", "turn"),
    [
        (-0.1, 2.0, 90.0),
        (2.0, 0.0, 90.0),
        (2.0, -1.0, 90.0),
        (2.0, 2.0, 0.0),
        (2.0, 2.0, -90.0),
        (2.0, 2.0, 135.1),
        (2.0, 2.0, 180.0),
        (float("nan"), 2.0, 90.0),
        (2.0, float("nan"), 90.0),
        (2.0, 2.0, float("nan")),
        (float("inf"), 2.0, 90.0),
        (2.0, float("inf"), 90.0),
    ],
)
@pytest.mark.parametrize("method", METHODS, ids=str)
def test_impossible_bends_are_refused(method: AllowanceChoice, radius: float, sheet: float, turn: float) -> None:
    with pytest.raises(BendFault) as fault:
        bend_metal(method, radius, sheet, turn)
    assert fault.value.what
    assert fault.value.cure


def test_a_neutral_line_outside_the_metal_is_refused() -> None:
    # 0.01743 falls short of pi / 180, so at R = 500 t the formula ends up under the inside face.
    with pytest.raises(BendFault, match="neutral line outside"):
        bend_metal(Faa(), 500.0, 1.0, 90.0)


def test_shop_table_answers_with_its_own_deduction() -> None:
    row = DeductionRow("mild steel", 2.0, 2.0, None, 90.0, 3.6)
    metal = bend_metal(ShopTable(DeductionTable("shop.csv", (row,)), "Mild  Steel"), 2.0, 2.0, 90.0)
    assert metal.deduction_mm == pytest.approx(3.6)
    assert metal.allowance_mm == pytest.approx(8.0 - 3.6)
    assert "shop.csv" in metal.source


def test_every_choice_names_its_method() -> None:
    assert {KFactor.method, Din6935.method, Faa.method, Handbook.method, ShopTable.method} < set(Method)
    assert Method("DIN 6935") is Din6935.method
