"""The test strip: its cut file, its answer with an honest bar, and the shop's table it is kept in."""

from __future__ import annotations

import random
from math import pi, radians, tan
from pathlib import Path

import ezdxf
import pytest
from command_line import ANGLE, run, words

from bracketgen.bending.bend_fault import BendFault
from bracketgen.bending.deduction_csv import parse_deduction_table
from bracketgen.bending.deduction_table import DeductionRow
from bracketgen.bending.measured_strip import MeasuredStrip
from bracketgen.errors import InputFaults
from bracketgen.shop.coupon import coupon, read_coupon
from bracketgen.shop.deduction_file import with_row

SHEET, RADIUS = 4.0, 5.0


def true_strip(k: float, turn: float = 90.0) -> tuple[float, float]:
    """Blank of 150 mm bent in its middle: one leg over the outside, up to square, straight from the definition of K."""
    arc = radians(turn) * (RADIUS + k * SHEET)
    return 150.0, (150.0 - arc) / 2 + (RADIUS + SHEET) * tan(radians(turn) / 2)


@pytest.mark.parametrize("turn", [90.0, 60.0])
@pytest.mark.parametrize("all_noisy", [False, True])
def test_the_95_percent_bars_cover_the_truth(turn: float, all_noisy: bool) -> None:
    # Readings scatter by 0.1 mm (lengths); with all_noisy also thickness, radius and turn, as their errors say.
    chance = random.Random(20260101)
    blank, leg = true_strip(0.40, turn)
    deduction = 2 * leg - blank
    assert deduction == pytest.approx(2 * (RADIUS + SHEET) * tan(radians(turn) / 2) - radians(turn) * (5 + 0.4 * 4))
    held_k = held_deduction = 0
    for _ in range(1000):
        read = [chance.gauss(v, 0.1) for v in (blank, leg, leg)]
        if all_noisy:
            noisy = (chance.gauss(SHEET, 0.02), chance.gauss(RADIUS, 0.1), chance.gauss(turn, 0.5))
            strip = MeasuredStrip(*read, *noisy)
            answer = read_coupon(strip, strip.turn_deg)
        else:
            strip = MeasuredStrip(
                *read, SHEET, RADIUS, turn, thickness_error_mm=0.0, radius_error_mm=0.0, turn_error_deg=0.0
            )
            answer = read_coupon(strip, turn)
            held_deduction += abs(answer.deduction_mm - deduction) <= answer.deduction_bar_mm
        held_k += abs(answer.k_factor - 0.40) <= answer.k_bar
    assert 930 <= held_k <= 970
    assert all_noisy or 930 <= held_deduction <= 970


def test_a_strip_that_came_out_a_little_off_is_carried_to_the_wanted_turn() -> None:
    blank, leg = true_strip(0.42, 88.0)
    answer = read_coupon(MeasuredStrip(blank, leg, leg, SHEET, RADIUS, 88.0), 90.0)
    assert answer.k_factor == pytest.approx(0.42)
    # 2 (R + t) - pi/2 (R + K t), by hand: 18 - 1.5708 * 6.68 = 7.507.
    assert answer.deduction_mm == pytest.approx(18 - pi / 2 * 6.68)
    with pytest.raises(BendFault, match="says little"):
        read_coupon(MeasuredStrip(blank, leg, leg, SHEET, RADIUS, 88.0), 60.0)


def test_the_strip_is_long_enough_for_its_die_and_wide_enough_for_its_thickness() -> None:
    assert (coupon(2.0).length_mm, coupon(2.0).width_mm) == (150.0, 40.0)
    assert coupon(10.0).width_mm == 80.0
    assert coupon(10.0, 71.0).length_mm / 2 >= 1.5 * 71.0


def test_the_cut_file_is_a_rectangle_with_one_corner_off(tmp_path: Path) -> None:
    result = run("coupon", "--metal", "S235", "-t", "4 mm", "--die", "32 mm", "--out", tmp_path)
    assert result.code == 0
    (line,) = ezdxf.readfile(tmp_path / "strip-S235-4mm.dxf").modelspace()
    corners = {(round(x, 6), round(y, 6)) for x, y in line.get_points("xy")}
    assert corners == {(0, 0), (150, 0), (150, 30), (140, 40), (0, 40)}
    assert line.closed
    assert "75 mm from an end" in words(result.out) and "--measured" in result.out


def test_measured_legs_go_into_the_table_and_a_description_takes_them(tmp_path: Path) -> None:
    table = tmp_path / "shop.csv"
    call = ("coupon", "--metal", "S235", "-t", "4 mm", "--die", "32 mm", "--shop-table", table, "--measured")
    # 78.8 + 78.9 - 150.0 = 7.70 mm of deduction; allowance 18 - 7.7 = 10.3, K = (10.3 / 1.5708 - 5) / 4 = 0.389.
    result = run(*call, "150.0mm,78.8mm,78.9mm")
    assert result.code == 0, result.err
    assert "deduction 7.70 mm" in words(result.out) and "K factor 0.389" in words(result.out)
    (row,) = parse_deduction_table(table.read_text(), "shop.csv").rows
    assert (row.metal, row.thickness_mm, row.die_mm, row.turn_deg) == ("S235", 4.0, 32.0, 90.0)
    assert row.deduction_mm == pytest.approx(7.7)
    again = run(*call, "150.0mm,78.8mm,78.9mm")
    assert again.code == 2 and "already stands in line 2" in again.err


def angle_with(tmp_path: Path, allowance: str) -> float:
    """Height of the flat of the 4 mm angle, legs 50 and 40 over the outside, from its cut file."""
    text = ANGLE.replace('"6061-T4"', '"S235"').replace("thickness = 2", "thickness = 4")
    text = text.replace('allowance = "K factor"\nk_factor = 0.5\n', allowance).replace("inside_radius = 6", "die = 32")
    (tmp_path / "part.toml").write_text(text)
    made = run("make", tmp_path / "part.toml", "--out", tmp_path / "out")
    assert made.code == 0, made.out + made.err
    ys = [y for line in ezdxf.readfile(tmp_path / "out" / "part.dxf").modelspace() for _, y in line.get_points("xy")]
    return float(max(ys) - min(ys))


def test_a_strip_kept_in_the_shops_file_changes_the_flat(tmp_path: Path) -> None:
    """50 + 40 less the deduction of the strip: 7.70 mm, then 8.20 mm; by K 0.5 it was 90 - 18 + pi/2 (5 + 2) = 7.00."""
    call = ("coupon", "--metal", "S235", "-t", "4 mm", "--die", "32 mm", "--shop-table")
    kept = 'allowance = "shop table"\ntable = "{}"\n'
    assert run(*call, tmp_path / "shop.csv", "--measured", "150.0mm,78.8mm,78.9mm").code == 0
    assert angle_with(tmp_path, kept.format("shop.csv")) == pytest.approx(90.0 - 7.70, abs=1e-6)
    assert run(*call, tmp_path / "other.csv", "--measured", "150.0mm,79.1mm,79.1mm").code == 0
    assert angle_with(tmp_path, kept.format("other.csv")) == pytest.approx(90.0 - 8.20, abs=1e-6)
    by_k = angle_with(tmp_path, 'allowance = "K factor"\nk_factor = 0.5\n')
    assert by_k == pytest.approx(90.0 - 18.0 + pi / 2 * 7.0, abs=1e-6)


def test_readings_that_cannot_be_are_refused_and_not_kept(tmp_path: Path) -> None:
    table = tmp_path / "shop.csv"
    call = ("coupon", "--metal", "S235", "-t", "4 mm", "-r", "5 mm", "--shop-table", table, "--measured")
    for wrong, said in (("150mm,90mm,90mm", "neutral line"), ("150mm,79mm", "2 lengths"), ("150,79,79", "unit")):
        result = run(*call, wrong)
        assert result.code == 2 and said in result.err
    assert not table.exists()


def test_a_table_keeps_its_own_columns_and_remarks() -> None:
    text = "# our brake\nmetal,thickness_in,inside_radius_in,between_deg,deduction_in\nS235,0.125,0.125,90,0.2"
    row = DeductionRow("S235", 4.0, 5.0, None, 90.0, 7.7)
    longer = with_row(text, "t.csv", row, "said")
    assert longer.startswith(text + "\n# said\n")
    added = parse_deduction_table(longer, "t.csv").rows[-1]
    assert (added.thickness_mm, added.inside_radius_mm) == (pytest.approx(4.0, abs=1e-3), pytest.approx(5.0, abs=1e-3))
    assert added.deduction_mm == pytest.approx(7.7, abs=1e-3)
    with pytest.raises(InputFaults, match="unknown"):
        with_row("metal,thick_mm\nS235,4\n", "t.csv", row, "said")
