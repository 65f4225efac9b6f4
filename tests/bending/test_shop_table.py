"""The shop's deduction table: reading it, and looking bends up in it."""

from __future__ import annotations

from math import radians, tan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bracketgen.bending.setback import BendFault
from bracketgen.bending.shop_table import DeductionTable, parse_deduction_table
from bracketgen.errors import InputFaults

SHOP = """\
# leaf brake, tried on offcuts
metal,thickness_mm,inside_radius_mm,turn_deg,deduction_mm
mild steel,2,2,45,0.92
mild steel,2,2,90,3.7
mild steel,2,2,135,1.6
mild steel,3,3,90,5.6
aluminium 5052-H32,2,2,90,3.5
"""


def deduction(k: float, radius: float, sheet: float, turn: float) -> float:
    """Deduction of a bend whose neutral line lies at K, written out: 2 setbacks less the arc."""
    setback = (radius + sheet) * (tan(radians(turn) / 2.0) if turn <= 90.0 else 1.0)
    return 2.0 * setback - radians(turn) * (radius + k * sheet)


def table(text: str) -> DeductionTable:
    return parse_deduction_table(text, "shop.csv")


def faults_of(text: str) -> list[str]:
    with pytest.raises(InputFaults) as caught:
        table(text)
    return [str(fault) for fault in caught.value.faults]


def test_rows_that_stand_in_the_table_are_returned_as_they_are() -> None:
    shop = table(SHOP)
    assert len(shop.rows) == 5
    assert shop.rows[0].line == 3
    assert shop.look_up("mild steel", 2.0, 2.0, 90.0) == 3.7
    assert shop.look_up("Mild  STEEL", 2.03, 1.95, 90.0) == 3.7
    assert shop.look_up("aluminium 5052-H32", 2.0, 2.0, 90.0) == 3.5
    assert shop.look_up("mild steel", 2.0, 2.0, 135.0) == pytest.approx(1.6)


@given(st.floats(30.0, 135.0), st.floats(0.3, 0.5))
def test_between_two_turns_a_steady_neutral_line_is_followed_exactly(turn: float, k: float) -> None:
    # Rows on both sides of the kink at 90 deg; a straight line through the deductions would be 0.5 mm off.
    rows = [f"steel,2,3,{at},{deduction(k, 3.0, 2.0, at):.9f}" for at in (30, 60, 120, 135)]
    shop = table("\n".join(["metal,thickness_mm,inside_radius_mm,turn_deg,deduction_mm", *rows]))
    assert shop.look_up("steel", 2.0, 3.0, turn) == pytest.approx(deduction(k, 3.0, 2.0, turn), abs=1e-6)


@pytest.mark.parametrize(
    ("metal", "sheet", "radius", "turn", "nearest"),
    [
        ("mild steel", 2.5, 2.0, 90.0, "line 4: mild steel 2 mm"),
        ("mild steel", 2.0, 2.5, 90.0, "line 4: mild steel 2 mm"),
        ("stainless", 2.0, 2.0, 90.0, "line 4: mild steel 2 mm"),
        ("mild steel", 3.0, 3.0, 60.0, "line 6: mild steel 3 mm"),
        ("mild steel", 2.0, 2.0, 30.0, "line 3: mild steel 2 mm"),
        ("aluminium", 2.0, 2.0, 90.0, "line 4: mild steel 2 mm"),
    ],
)
def test_nothing_is_carried_over_and_the_nearest_rows_are_named(
    metal: str, sheet: float, radius: float, turn: float, nearest: str
) -> None:
    with pytest.raises(BendFault) as fault:
        table(SHOP).look_up(metal, sheet, radius, turn)
    assert nearest in fault.value.what
    assert "test strip" in fault.value.cure


def test_inches_and_between_are_read_as_mm_and_turn() -> None:
    shop = table("metal,thickness_in,inside_radius_in,between_deg,deduction_in\nsteel,0.125,0.125,120,0.1\n")
    (row,) = shop.rows
    assert (row.thickness_mm, row.inside_radius_mm, row.turn_deg) == pytest.approx((3.175, 3.175, 60.0))
    assert shop.look_up("steel", 3.175, 3.175, 60.0) == pytest.approx(2.54)


def test_rows_by_die_need_the_die_to_be_named() -> None:
    shop = table("metal,thickness_mm,die_mm,turn_deg,deduction_mm\nsteel,2,12,90,3.6\nsteel,2,16,90,3.9\n")
    assert shop.look_up("steel", 2.0, 2.0, 90.0, die_mm=12.0) == 3.6
    assert shop.look_up("steel", 2.0, 2.6, 90.0, die_mm=16.0) == 3.9
    with pytest.raises(BendFault, match="no such bend"):
        shop.look_up("steel", 2.0, 2.0, 90.0)


def test_two_dies_of_one_radius_are_not_chosen_between() -> None:
    text = (
        "metal,thickness_mm,inside_radius_mm,die_mm,turn_deg,deduction_mm\nsteel,2,2,12,90,3.6\nsteel,2,2,16,90,3.9\n"
    )
    with pytest.raises(BendFault, match="two rows"):
        table(text).look_up("steel", 2.0, 2.0, 90.0)
    assert table(text).look_up("steel", 2.0, 2.0, 90.0, die_mm=16.0) == 3.9


HEAD = "metal,thickness_mm,inside_radius_mm,turn_deg,deduction_mm\n"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "shop.csv: the table is empty"),
        ("# only a remark\n", "shop.csv: the table is empty"),
        (HEAD, "shop.csv:1:1: the table has a header and no rows"),
        ("metal;thickness_mm\n", "shop.csv:1:1: the cells are parted by semicolons"),
        (
            "metal,thickness,inside_radius_mm,turn_deg,deduction_mm\n",
            "shop.csv:1:7: the column 'thickness' has no unit",
        ),
        ("metal,thickness_mm,inside_radius_mm,angle,deduction_mm\n", "shop.csv:1:37: 'angle' can be read two ways"),
        ("metal,thicknes_mm,inside_radius_mm,turn_deg,deduction_mm\n", "did you mean 'thickness_mm'?"),
        ("metal,thickness_mm,turn_deg,deduction_mm\n", "no column says the inside_radius or the die"),
        ("metal,thickness_mm,die_mm,turn_deg,between_deg,deduction_mm\n", "turn_deg and between_deg"),
        ("metal,thickness_mm,thickness_in,die_mm,turn_deg,deduction_mm\n", "thickness is given in mm and in inches"),
        ("metal,metal,thickness_mm,die_mm,turn_deg,deduction_mm\n", "shop.csv:1:7: the column 'metal' stands twice"),
        ('"metal","metal",thickness_mm,die_mm,turn_deg,deduction_mm\n', "the column 'metal' stands twice"),
        (HEAD + "steel,2,2,90\n", "shop.csv:2:1: the row has 4 cells, the header 5"),
        (HEAD + "steel,1,5,2,90,3,6\n", "shop.csv:2:1: the row has 7 cells"),
        (HEAD + "steel,2,2,90,three\n", "shop.csv:2:14: 'three' is not a number for deduction_mm"),
        (HEAD + "steel, 2mm,2,90,3.6\n", "shop.csv:2:8: '2mm' is not a number"),
        (HEAD + "steel,1_0,2,90,3.6\n", "shop.csv:2:7: '1_0' is not a number"),
        (HEAD + "steel,nan,2,90,3.6\n", "shop.csv:2:7: 'nan' is not a number"),
        (HEAD + "steel,0,2,90,3.6\n", "shop.csv:2:7: thickness_mm is 0"),
        (HEAD + "steel,2,-1,90,3.6\n", "shop.csv:2:9: inside_radius_mm is -1"),
        (HEAD + "steel,2,2,180,3.6\n", "shop.csv:2:11: turn_deg is 180"),
        (HEAD + ",2,2,90,3.6\n", "shop.csv:2:1: the row names no metal"),
        (HEAD + "steel,2,,90,3.6\n", "shop.csv:2:1: the row gives neither inside radius nor die"),
        (HEAD + "steel,2,2,90,9\n", "a deduction of 9 mm would put the neutral line outside the metal"),
        (HEAD + "steel,2,2,90,-0.1\n", "a deduction of -0.1 mm would put the neutral line outside the metal"),
        (HEAD + "steel,2,2,90,3.6\nsteel,2,2,90,3.7\n", "shop.csv:3:1: this bend already stands in line 2"),
    ],
)
def test_faults_say_where_and_what(text: str, said: str) -> None:
    assert any(said in fault for fault in faults_of(text)), faults_of(text)


def test_all_faults_of_a_table_come_in_one_run() -> None:
    faults = faults_of(HEAD + "steel,x,2,90,3.6\n\n# remark\nsteel,2,2,90,3.6\nsteel,2,2,y,z\r\nsteel,2\n")
    assert [fault.split(": ")[0] for fault in faults] == [
        "shop.csv:2:7",
        "shop.csv:6:11",
        "shop.csv:6:13",
        "shop.csv:7:1",
    ]


@given(st.text(alphabet=[*SHOP, '"', "\r", ";", "\x00", "\u2028", "é"], max_size=200))
def test_any_text_is_a_table_or_faults(text: str) -> None:
    for whole in (text, HEAD + text):
        try:
            parsed = table(whole)
        except InputFaults as caught:
            assert caught.faults
        else:
            assert parsed.rows


@given(st.integers(0, len(SHOP) - 1), st.sampled_from(list('0123456789.,-#x"\n ')))
def test_one_wrong_key_stroke_is_a_table_or_faults(at: int, stroke: str) -> None:
    text = SHOP[:at] + stroke + SHOP[at + 1 :]
    try:
        parsed = table(text)
    except InputFaults as caught:
        assert all(0 < fault.place.line <= text.count("\n") + 1 for fault in caught.faults)
    else:
        assert parsed.rows
