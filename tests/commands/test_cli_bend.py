from __future__ import annotations

import math
import re
from pathlib import Path

import pytest
from command_line import run, words


def test_figures_of_the_faa_channel() -> None:
    """FAA-H-8083-31, chapter 4, U-channel of .040 in, radius .16 in, legs 1, 2 and 1 in.

    Printed: flats .8, 1.6 and .8, allowance .27 (cut, not rounded), total 3.74 in.
    """
    done = run(
        "bend", "-t", ".040 in", "--radius", ".16 in", "--turn", "90", "--method", "FAA", "--legs", "1in,2in,1in"
    )
    said = words(done.out)
    assert done.code == 0
    rows = {line.split()[1]: line.split() for line in done.out.splitlines() if line.startswith("  leg")}
    assert [rows[n][-1] for n in "123"] == ["0.800", "1.600", "0.800"]
    allowance = next(line for line in done.out.splitlines() if line.startswith("  allowance")).split()
    assert math.floor(float(allowance[2]) * 100) == 27
    total = next(line for line in done.out.splitlines() if line.startswith("  flat")).split()
    # The printed total adds up bends that were cut to .27, so it is up to .02 shorter.
    assert 3.74 <= float(total[3].strip("(")) < 3.76
    assert "allowance = (0.01743 R + 0.0078 t) × turn" in said
    assert "FAA AC 43.13-1B" in said


def test_k_factor_and_both_ways_of_saying_the_turn() -> None:
    one = run("bend", "-t", "2mm", "-r", "3mm", "--turn", "60", "-m", "K factor", "--k", "0.44")
    two = run("bend", "-t", "2mm", "-r", "3mm", "--between", "120", "-m", "k-factor", "--k", "0.44")
    assert one.code == two.code == 0
    assert one.out == two.out
    allowance = math.radians(60) * (3 + 0.44 * 2)
    assert f"allowance {allowance:.3f} {allowance / 25.4:.3f}" in words(one.out)
    assert f"setback {5 * math.tan(math.radians(30)):.3f}" in words(one.out)
    assert "turn 60 deg (between 120 deg)" in words(one.out)


@pytest.mark.parametrize(
    ("method", "sizes", "setback", "basis"),
    [
        # AC 43.13-1B, table 4-7: K = 1.732 at 120 degrees, 2.414 at 135; SB = K (R + T), without a cap.
        ("FAA", None, "mould", "mould line (FAA)"),
        ("DIN 6935", "mould", "mould", "mould line (FAA)"),
        # DIN 6935 counts sharp bends to the outermost reach of the arc.
        ("DIN 6935", None, "reach", "outermost reach of the arc (DIN 6935 above 90 deg)"),
        ("FAA", "outside", "reach", "outermost reach of the arc (DIN 6935 above 90 deg)"),
    ],
)
@pytest.mark.parametrize(("turn", "chart"), [(120, 1.732), (135, 2.414)])
def test_a_sharp_bend_has_one_named_basis(
    method: str, sizes: str | None, setback: str, basis: str, turn: int, chart: float
) -> None:
    extra = () if sizes is None else ("--sizes", sizes)
    done = run("bend", "-t", "1mm", "-r", "3mm", "--turn", str(turn), "-m", method, "--legs", "40mm,30mm", *extra)
    said = words(done.out)
    assert basis in said
    names = ("allowance", "deduction", "setback")
    figures = {name: float(re.search(rf"{name} (-?[0-9.]+)", said)[1]) for name in names}  # type: ignore[index]
    assert figures["setback"] == pytest.approx(4 * chart if setback == "mould" else 4, abs=0.003)
    assert figures["deduction"] == pytest.approx(2 * figures["setback"] - figures["allowance"], abs=0.002)
    flat = float(re.search(r"flat ([0-9.]+) mm", said)[1])  # type: ignore[index]
    assert flat == pytest.approx(40 + 30 - figures["deduction"], abs=0.002)


def test_a_formula_with_another_setback_says_so() -> None:
    said = words(run("bend", "-t", "1mm", "-r", "3mm", "--turn", "120", "--sizes", "mould").out)
    assert "in it the setback of outside sizes, 4.000 mm" in said
    assert "in it" not in words(run("bend", "-t", "1mm", "-r", "3mm", "--turn", "120").out)


def test_lines_of_a_strip_by_hand() -> None:
    done = run("bend", "-t", "2", "-r", "2", "-m", "K factor", "--k", "0.5", "--legs", "40 mm, 25 mm")
    allowance = math.pi / 2 * 3
    assert f"flat {36 + 21 + allowance:.3f} mm" in words(done.out)
    row = next(line for line in done.out.splitlines() if line.startswith("  bend 1")).split()[2:]
    wanted = [36, 36 + allowance / 2, 36 + allowance, 36 + 2, 36 + allowance - 2]
    assert [float(cell) for cell in row] == pytest.approx(wanted, abs=0.006)


def test_a_gauge_needs_its_metal_and_is_echoed_in_mm() -> None:
    """Machinery's Handbook: 11 gauge is .1196 in in steel, .0907 in in aluminium."""
    assert "3.038 mm (typed 11 ga)" in words(run("bend", "-t", "11 ga", "--metal", "S235", "-r", "3mm").out)
    assert "2.304 mm (typed 11 ga)" in words(run("bend", "-t", "11 ga", "--metal", "5052-H32", "-r", "3mm").out)
    done = run("bend", "-t", "11 ga", "-r", "3mm")
    assert done.code == 2
    assert "--thickness: '11 ga' is another thickness in every metal" in done.err


def test_the_die_sets_the_radius() -> None:
    """Air bending chart: V 16 leaves 2.6 mm and holds 11 mm."""
    said = words(run("bend", "-t", "2 mm", "--die", "16").out)
    assert "inside radius 2.6 mm" in said
    assert "from 11 mm up" in said


def test_bare_numbers_take_the_unit_that_was_named() -> None:
    metric = run("bend", "-t", "3.175 mm", "-r", "3.175 mm").out
    inch = run("bend", "-t", "1/8", "-r", "0.125", "--unit", "in").out
    assert inch.splitlines()[2:] == metric.splitlines()[2:]


def test_handbook_shop_table_and_strip(tmp_path: Path) -> None:
    book = run("bend", "-t", "2mm", "-r", "3mm", "-m", "handbook", "--handbook-metal", "soft")
    assert f"allowance {0.55 * 2 + 1.57 * 3:.3f}" in words(book.out)
    table = tmp_path / "shop.csv"
    table.write_text("metal,thickness_mm,inside_radius_mm,turn_deg,deduction_mm\nsteel,2,2,90,3.6\n", encoding="utf-8")
    shop = run("bend", "-t", "2mm", "-r", "2mm", "-m", "shop table", "--shop-table", table, "--metal", "steel")
    assert shop.code == 0, shop.err
    assert "deduction 3.600" in words(shop.out)
    blank = 50 + 40 - 3.6
    strip = run("bend", "-t", "2mm", "-r", "2mm", "-m", "strip", "--strip", f"{blank}mm,50mm,40mm")
    assert "deduction 3.600" in words(strip.out)


_BASE = ("bend", "-t", "2 mm", "-r", "2 mm")


@pytest.mark.parametrize(
    ("extra", "said"),
    [
        (("--turn", "90", "--between", "90"), "--turn: --turn and --between both say"),
        (("--turn", "140"), "bend: a turn of 140 deg"),
        (("--turn", "0"), "bend: a turn of 0 deg"),
        (("--turn", "square"), "--turn: 'square'"),
        (("--method", "DIN 6953"), "did you mean DIN 6935?"),
        (("--method", "K factor"), "--method: K factor needs --k"),
        (("--k", "0.4"), '--k: it means nothing for DIN 6935; write --method "K factor"'),
        (("--method", "K factor", "--k", "0.9"), "bend: "),
        (("--legs", "40"), "--legs: '40' has no unit"),
        (("--legs", "40,5mm,25mm"), "--legs: '40' has no unit"),
        (("--legs", "40mm"), "bend: a single leg has no bend"),
        (("--legs", "40mm,3mm"), "bend: leg 2"),
        (("--sizes", "outsid"), "--sizes: 'outsid' is not known here; did you mean outside?"),
        (("--unit", "cm"), "--unit: 'cm' is not known here"),
        (("--method", "handbook", "--handbook-metal", "sofd"), "did you mean soft?"),
        (("--method", "strip", "--strip", "100mm,50mm"), "--strip: it has 2 lengths"),
        (("--method", "table", "--shop-table", "gone.csv", "--metal", "steel"), "gone.csv: there is no such file"),
    ],
)
def test_misuse_is_told(extra: tuple[str, ...], said: str) -> None:
    done = run(*_BASE, *extra)
    assert done.code == 2
    assert done.out == ""
    assert said in done.err


def test_every_wrong_option_is_told_at_once() -> None:
    done = run("bend", "-t", "4,5 mm", "-r", "x", "--turn", "y", "--sizes", "z")
    assert [line.split(": ")[0] for line in done.err.splitlines()] == ["--radius", "--sizes", "--thickness", "--turn"]


def test_no_radius_at_all_is_told() -> None:
    assert "--radius: nothing says the inside radius" in run("bend", "-t", "2 mm").err
    assert "--die: unknown V opening '15'" in run("bend", "-t", "2 mm", "--die", "15").err
