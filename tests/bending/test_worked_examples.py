"""Worked examples printed in handbooks, standards and textbooks, compared to the precision they are printed in.

'read' = the page was read; 'from memory' = recalled and recomputed, the page was not seen.
"""

from __future__ import annotations

from math import floor, pi

import pytest

from bracketgen.bending.allowance import (
    Din6935,
    Faa,
    Handbook,
    HandbookRow,
    KFactor,
    bend_metal,
    din_6935_deduction_mm,
    handbook_allowance_mm,
    k_factor_allowance_mm,
)
from bracketgen.bending.bench import BenchQuestion, answer_bench
from bracketgen.bending.setback import SizeReference, mould_setback_mm

INCH = 25.4


def agrees(value: float, printed: str) -> bool:
    """Whether the value rounds to what is printed, half a unit of its last place either way."""
    decimals = len(printed.partition(".")[2])
    return abs(value - float(printed)) <= 0.5 * 10.0**-decimals + 1e-9


def cut(value: float, decimals: int) -> float:
    """The value with its further decimals cut off, as some prints do instead of rounding."""
    return floor(value * 10.0**decimals + 1e-9) / 10.0**decimals


@pytest.mark.parametrize(
    ("turn_deg", "printed"),
    [(30, 0.2679), (45, 0.4142), (60, 0.5773), (90, 1.0), (120, 1.732), (135, 2.414), (150, 3.732)],
)
def test_setback_chart_of_ac_43_13(turn_deg: float, printed: float) -> None:
    # FAA AC 43.13-1B, table 4-7, p. 4-15 (read): K in SB = K (R + T). The print cuts (.57735 -> .5773).
    decimals = len(str(printed).partition(".")[2])
    assert cut(mould_setback_mm(0.75, 0.25, turn_deg), decimals) == printed


def test_faa_bend_allowance_of_an_l_bracket() -> None:
    # FAA-H-8083-31 volume 1, chapter 4 (read): T .040, R .156, 120 deg between flanges = 60 deg of bend,
    # allowance .003034 x 60 = .182 in.
    metal = bend_metal(Faa(), 0.156 * INCH, 0.040 * INCH, 180.0 - 120.0)
    assert agrees(metal.allowance_mm / INCH, "0.182")


def test_faa_chart_value_per_degree() -> None:
    # Same chapter, bend allowance chart (read): .003034 per degree for T .040, R .156. The chart keeps
    # pi / 180 where the printed formula has .01743, and cuts; the formula gives .003031.
    chart_k = 0.0078 * 180.0 / pi
    assert cut(k_factor_allowance_mm(chart_k, 0.156, 0.040, 1.0), 6) == 0.003034
    assert bend_metal(Faa(), 0.156, 0.040, 1.0).allowance_mm == pytest.approx(0.003034, rel=1.5e-3)


def test_faa_channel_setback_flats_and_developed_width() -> None:
    # Same chapter, U-channel of .040 in 2024-T3 (read): mould sizes 1.00, 2.00, 1.00, R .16; setback 0.2,
    # flats 0.8, 1.6, 0.8, allowance printed .27 (.2791 cut, not rounded), total 3.74 in.
    legs = (1.00 * INCH, 2.00 * INCH, 1.00 * INCH)
    answer = answer_bench(BenchQuestion(Faa(), 0.040 * INCH, 0.16 * INCH, 90.0, legs, SizeReference.MOULD))
    assert agrees(answer.bend.setback_mm / INCH, "0.2")
    assert [agrees(flat / INCH, p) for flat, p in zip(answer.straights_mm, ("0.8", "1.6", "0.8"), strict=True)] == [
        True
    ] * 3
    assert cut(answer.bend.allowance_mm / INCH, 2) == 0.27
    assert sum(answer.straights_mm) / INCH + 2 * cut(answer.bend.allowance_mm / INCH, 2) == pytest.approx(3.74)
    # The print cut 2 x .0091; the full sum may differ by no more than two cut hundredths.
    assert answer.flat_mm is not None
    assert 3.74 <= answer.flat_mm / INCH < 3.76


def test_navy_quarter_bend_on_the_middle_line() -> None:
    # NAVEDTRA 14119, figure 13-49 (read): 90 deg, R 3 in, t 1/2 in, neutral axis at mid-thickness: 5.10 in.
    # The manual works with pi = 3.14.
    arc = k_factor_allowance_mm(0.5, 3.0, 0.5, 90.0)
    assert agrees(arc * 3.14 / pi, "5.10")


def test_navy_half_bend_on_the_middle_line() -> None:
    # NAVEDTRA 14119, figure 13-50 (read): 180 deg, R 1 in, t 1/2 in: 3.925 in, with pi = 3.14.
    arc = k_factor_allowance_mm(0.5, 1.0, 0.5, 180.0)
    assert agrees(arc * 3.14 / pi, "3.925")


@pytest.mark.parametrize(("radius", "turn_deg", "printed"), [(0.375, 180.0, "1.338"), (0.625, 60.0, "0.707")])
def test_machinerys_handbook_bends(radius: float, turn_deg: float, printed: str) -> None:
    # Machinery's Handbook, 31st ed., p. 1421, example to formulas 32-34, figure 13 (read): soft steel, 1/8 in.
    assert agrees(handbook_allowance_mm(HandbookRow.MEDIUM, radius, 0.125, turn_deg), printed)


def test_machinerys_handbook_length_before_bending() -> None:
    # Same example (read): 3.5 in straight and both bends: 5.545 in.
    bends = [handbook_allowance_mm(HandbookRow.MEDIUM, r, 0.125, turn) for r, turn in ((0.375, 180.0), (0.625, 60.0))]
    assert agrees(3.5 + sum(bends), "5.545")


def test_sheet_metal_workbook_allowance_and_deduction() -> None:
    # Sheet Metal Work Book, 6th ed. (2012), '90 Degree Bends' (sheetmetalworkbook.com/90bends.htm, read):
    # t .050, R .032: allowance .085, deduction .079.
    metal = bend_metal(Faa(), 0.032 * INCH, 0.050 * INCH, 90.0)
    assert agrees(metal.allowance_mm / INCH, "0.085")
    assert agrees(metal.deduction_mm / INCH, "0.079")


def test_sheet_metal_workbook_stretch_out_of_three_bends() -> None:
    # Same page (read): outside sizes .740, .420, 1.050, 1.000: flat 2.973. The print rounds the deduction to
    # .079 and takes it off three times, so it may be three half thousandths away from the full sum.
    legs = tuple(leg * INCH for leg in (0.740, 0.420, 1.050, 1.000))
    answer = answer_bench(BenchQuestion(Faa(), 0.050 * INCH, 0.032 * INCH, 90.0, legs))
    assert answer.flat_mm is not None
    assert sum(legs) / INCH - 3 * round(answer.bend.deduction_mm / INCH, 3) == pytest.approx(2.973)
    assert abs(answer.flat_mm / INCH - 2.973) <= 3 * 0.0005


def test_din_6935_table_value() -> None:
    # Table of v for 90 deg after DIN 6935 in German training notes (einfachnurfet.wordpress.com, read):
    # r 6, s 5: v = 9.9 mm.
    assert agrees(din_6935_deduction_mm(6.0, 5.0, 90.0), "9.9")


def test_bend_of_large_radius_on_the_middle_line() -> None:
    # Same notes (read): straights 120 and 32 mm, neutral line 150 mm in diameter, 270 deg: 505.43 mm.
    # The notes give no thickness; any that leaves the middle line at 75 mm must do.
    for thickness in (2.0, 6.0, 10.0):
        arc = k_factor_allowance_mm(0.5, 75.0 - thickness / 2.0, thickness, 270.0)
        assert agrees(120.0 + arc + 32.0, "505.43")


@pytest.mark.parametrize(
    ("legs_mm", "thickness_mm", "printed"),
    [((15.0, 30.0), 2.0, "41"), ((41.0, 142.0, 21.0), 1.0, "200")],
)
def test_french_school_sheets(legs_mm: tuple[float, ...], thickness_mm: float, printed: str) -> None:
    # French vocational school sheets on developed lengths (scribd.com/doc/453448901, read), for t <= 2 and
    # r about t: outside 15 / 30, t 2: 41 mm; outside 41 / 142 / 21, t 1: 200 mm. The sheets add inside sizes,
    # a rule of thumb; DIN 6935 at r = s must agree to the whole millimetre they print.
    answer = answer_bench(BenchQuestion(Din6935(), thickness_mm, thickness_mm, 90.0, legs_mm))
    assert answer.flat_mm is not None
    assert agrees(answer.flat_mm, printed)


def test_austrian_textbook_channel() -> None:
    # Westermann Wien, ISBN 978-3-7100-2443-6, p. 206 (read): outside 50, 40, 30 mm, r 1, t 1, two bends:
    # 116 mm. The book uses v = 0.5 r + 1.5 t and refers to DIN 6935 for exact values.
    answer = answer_bench(BenchQuestion(Din6935(), 1.0, 1.0, 90.0, (50.0, 40.0, 30.0)))
    assert answer.flat_mm is not None
    assert agrees(answer.flat_mm, "116")


def test_groover_bent_blank() -> None:
    # M. P. Groover, Fundamentals of Modern Manufacturing, sheet-metal chapter example (from memory):
    # t 3.2, R 4.75, 60 deg, K .33, straights 38 and 25 mm: allowance 6.08, blank 69.08 mm.
    question = BenchQuestion(KFactor(0.33), 3.2, 4.75, 60.0, (38.0, 25.0), SizeReference.TANGENT)
    answer = answer_bench(question)
    assert agrees(answer.bend.allowance_mm, "6.08")
    assert answer.flat_mm is not None
    assert agrees(answer.flat_mm, "69.08")


def test_handbook_row_reads_the_same_through_the_front_door() -> None:
    # The 60 deg bend of the Machinery's Handbook example again, in mm and through bend_metal: .707 in.
    metal = bend_metal(Handbook(HandbookRow.MEDIUM), 0.625 * INCH, 0.125 * INCH, 60.0)
    assert agrees(metal.allowance_mm / INCH, "0.707")
