"""The test strip: its cut file, its answer with an honest bar, and the shop's table it is kept in."""

from __future__ import annotations

import random
from math import atan, cos, exp, gamma, lgamma, log, pi, radians, sqrt, tan
from pathlib import Path

import ezdxf
import pytest
from command_line import ANGLE, run, words

from bracketgen.bending.measured_strip import MeasuredStrip
from bracketgen.bending.setback import BendFault
from bracketgen.bending.shop_table import DeductionRow, parse_deduction_table
from bracketgen.errors import InputFaults
from bracketgen.shop.coupon import (
    CHI_SQUARE_80,
    MOST_STRIPS,
    STUDENT_95,
    Scatter,
    coupon,
    read_coupon,
    read_coupons,
    with_row,
)

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


@pytest.mark.parametrize(("count", "sheets_mm"), [(2, 0.0), (3, 0.0), (3, 0.6), (5, 0.6)])
def test_the_bars_of_several_strips_cover_the_truth(count: int, sheets_mm: float) -> None:
    """Read to 0.1 mm; with `sheets_mm` the strips themselves differ by that standard deviation about the truth."""
    chance = random.Random(20260102)
    blank, leg = true_strip(0.40)
    held_k = held_deduction = 0
    for _ in range(1000):
        strips = []
        for _ in range(count):
            own = leg + chance.gauss(0.0, sheets_mm) / 2
            read = [chance.gauss(v, 0.1) for v in (blank, own, own)]
            strips.append(
                MeasuredStrip(
                    *read, SHEET, RADIUS, 90.0, thickness_error_mm=0.0, radius_error_mm=0.0, turn_error_deg=0.0
                )
            )
        answer = read_coupons(strips, 90.0)
        held_k += abs(answer.k_factor - 0.40) <= answer.k_bar
        held_deduction += abs(answer.deduction_mm - (2 * leg - blank)) <= answer.deduction_bar_mm
    if sheets_mm == 0.0:
        assert 930 <= held_k <= 970 and 930 <= held_deduction <= 970
    else:
        # Where few strips happen to lie together they are taken for alike: a little less than is told.
        assert 900 <= held_deduction <= 970


def chi_square_below(x: float, free: int) -> float:
    """Share below x: the incomplete gamma function by its series."""
    a, half = free / 2, x / 2
    term = total = 1 / a
    for n in range(1, 200):
        term *= half / (a + n)
        total += term
    return total * exp(-half + a * log(half) - lgamma(a))


def student_within(x: float, free: int) -> float:
    """Share within x either way: Simpson's rule over the density in the angle whose tangent is t / sqrt(free)."""
    density = gamma((free + 1) / 2) / (sqrt(pi) * gamma(free / 2))
    end, steps = atan(x / sqrt(free)), 400
    weights = [1, *(4 if n % 2 else 2 for n in range(1, steps)), 1]
    values = [w * cos(end * n / steps) ** (free - 1) for n, w in enumerate(weights)]
    return 2 * density * sum(values) * end / steps / 3


@pytest.mark.parametrize("free", range(1, MOST_STRIPS))
def test_the_quantiles_are_those_of_the_distributions(free: int) -> None:
    assert chi_square_below(CHI_SQUARE_80[free - 1], free) == pytest.approx(0.8, abs=2e-4)
    assert student_within(STUDENT_95[free - 1], free) == pytest.approx(0.95, abs=1e-4)


def exact_strip(deduction_mm: float) -> MeasuredStrip:
    leg = (150.0 + deduction_mm) / 2
    return MeasuredStrip(150.0, leg, leg, SHEET, RADIUS, 90.0, thickness_error_mm=0.0, radius_error_mm=0.0,
                         turn_error_deg=0.0)  # fmt: skip


def test_several_strips_by_hand() -> None:
    # Three alike, each reading out by 0.1: sqrt(3) x 0.1 for one deduction, / sqrt(3) for three, x 1.96.
    alike = read_coupons([exact_strip(7.6), exact_strip(7.7), exact_strip(7.8)], 90.0)
    assert alike.deduction_mm == pytest.approx(7.7) and alike.deduction_bar_mm == pytest.approx(0.196, abs=1e-4)
    assert alike.scatter is Scatter.AS_READ and alike.deductions_mm == pytest.approx((7.6, 7.7, 7.8))
    # 7.2, 7.7, 8.2: standard deviation 0.5; chi-square 2 x 0.5^2 / 0.03 = 16.7 > 3.22; 4.303 x 0.5 / sqrt(3) = 1.242.
    wide = read_coupons([exact_strip(7.2), exact_strip(7.7), exact_strip(8.2)], 90.0)
    assert wide.deduction_mm == pytest.approx(7.7) and wide.deduction_bar_mm == pytest.approx(1.242, abs=1e-3)
    assert wide.scatter is Scatter.WIDER
    # On the limit: 2 s^2 = 3.219 x 0.03, s = 0.21974.
    for s, scatter in ((0.2197, Scatter.AS_READ), (0.2198, Scatter.WIDER)):
        assert read_coupons([exact_strip(7.7 + d) for d in (-s, 0.0, s)], 90.0).scatter is scatter


def test_no_strip_and_too_many() -> None:
    for count in (0, MOST_STRIPS + 1):
        with pytest.raises(BendFault, match=f"{count} strips"):
            read_coupons([exact_strip(7.7)] * count, 90.0)
    assert read_coupons([exact_strip(7.7)], 90.0).k_bar == read_coupon(exact_strip(7.7), 90.0).k_bar


def test_three_strips_are_kept_as_one_row(tmp_path: Path) -> None:
    table = tmp_path / "shop.csv"
    call = ("coupon", "--metal", "S235", "-t", "4 mm", "--die", "32 mm", "--shop-table", table)
    each = ("150.0mm,78.8mm,78.9mm", "150.1mm,78.9mm,78.8mm", "149.9mm,78.8mm,78.9mm")
    result = run(*call, *(word for one in each for word in ("--measured", one)))
    assert result.code == 0, result.err
    # 7.7, 7.6, 7.8.
    said = words(result.out)
    assert "deduction 7.70 mm" in said and "3 strips: deductions as they came out from 7.60 to 7.80 mm" in said
    assert "no more than readings scatter" in said
    (row,) = parse_deduction_table(table.read_text(), "shop.csv").rows
    assert row.deduction_mm == pytest.approx(7.7) and "3 test strips" in table.read_text()
    result = run(*call[:-2], "--measured", each[0], "--measured", "150mm,80.2mm,80.2mm")
    assert "more than readings usually scatter" in words(result.out) and "misread" in result.out
    result = run(*call[:-2], "--measured", each[0], "--measured", "150mm,80.2mm")
    assert result.code == 2 and "it has 2 lengths" in result.err


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
