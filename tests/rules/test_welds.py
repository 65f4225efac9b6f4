"""Welds: their lengths against closed forms of the true edge, limits of the standards, and where they are told."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest
from command_line import run, words, written
from described import plate
from sample_parts import SHAPES
from whole_way import whole_way

from bracketgen.drawing.marks.words import weld_label
from bracketgen.findings import Level
from bracketgen.part.part import Weld, WeldSide
from bracketgen.pipeline import work_out
from bracketgen.shop.hardware import weld_lines

FAIL, WARN = Level.FAIL, Level.WARN


def text(weld: str, *further: str, thickness: float = 4, outline: str = "") -> str:
    """Plate of 100 x 80 mm with sharp corners and one weld."""
    outline = outline or 'shape = "rectangle", width = 100, height = 80'
    described = plate("[[panels.base.welds]]", weld.replace("; ", "\n"), *further, outline=outline)
    return described.replace("thickness = 2", f"thickness = {thickness}")


def weld_of(described: str) -> Weld:
    (weld,) = whole_way(described).flat.part.welds
    return weld


def said(described: str, rule: str) -> list[tuple[Level, float | None, float | None]]:
    made = work_out(described, "part.toml", "part")
    return [(f.level, f.measured, f.required) for f in made.findings if f.rule == rule]


# -- strength beside a weld


@pytest.mark.parametrize(
    ("metal", "weld", "warned"),
    [("6061-T6", True, True), ("6061-T6", False, False), ("5052-H32", True, False), ("S235", True, False)],
)
def test_6061_is_told_to_be_half_as_strong_beside_a_weld(metal: str, weld: bool, warned: bool) -> None:
    described = text('edge = "top"; throat = 4; to = "plate"') if weld else plate()
    # EN 1999-1-1, table 3.2b: 0.2 % proof 115 MPa beside a weld, 240 MPa elsewhere.
    expected = [(WARN, 115.0, 240.0)] if warned else []
    assert said(described.replace('metal = "S235"', f'metal = "{metal}"'), "weld-softened") == expected


# -- lengths


def test_a_straight_edge_is_as_long_as_it_is() -> None:
    weld = weld_of(text('edge = "top"; throat = 3; to = "rail"'))
    assert (weld.where, weld.to, weld.sides) == ("edge top", "rail", WeldSide.BOTH)
    assert weld.side_mm == pytest.approx(100) and weld.total_mm == pytest.approx(200)
    assert weld.leg_mm == pytest.approx(3 * math.sqrt(2))
    one = weld_of(text('edge = "left"; leg = 5; sides = "back"'))
    assert one.throat_mm == pytest.approx(5 / math.sqrt(2)) and one.total_mm == pytest.approx(80)


def test_rounded_corners_are_not_of_the_edge() -> None:
    outline = 'shape = "rectangle", width = 100, height = 80, corner_radius = 12'
    assert weld_of(text('edge = "top"; throat = 3', outline=outline)).side_mm == pytest.approx(100 - 2 * 12)


def test_a_polygon_s_edge_by_number() -> None:
    outline = 'shape = "polygon", corners = [[0, 0], [60, 0], [90, 40], [0, 40]]'
    # From (60, 0) to (90, 40): a 3-4-5 triangle times ten.
    assert weld_of(text("edge = 2; throat = 3", outline=outline)).side_mm == pytest.approx(50)
    # Written clockwise, the edges keep their numbers.
    outline = 'shape = "polygon", corners = [[0, 40], [90, 40], [60, 0], [0, 0]]'
    assert weld_of(text("edge = 2; throat = 3", outline=outline)).side_mm == pytest.approx(50)


def test_a_saddle_is_the_arc_that_is_left() -> None:
    # A tube of 59 mm with 0.5 mm of room, centre on the lower edge: half a round of radius 30.
    half = weld_of(text("saddle = 1; throat = 3", "[[panels.base.saddles]]\ntube = 59\nat = [50, 0]\ngap = 0.5"))
    assert half.side_mm == pytest.approx(math.pi * 30)
    # Centre 18 mm below the edge: the chord is 2 x 24, the arc 2 x 30 x asin(24 / 30).
    less = weld_of(text("saddle = 1; throat = 3", "[[panels.base.saddles]]\ntube = 59\nat = [50, -18]\ngap = 0.5"))
    assert less.side_mm == pytest.approx(60 * math.asin(0.8))
    # A tube that passes through the panel: welded all round, without ends.
    whole = weld_of(text("saddle = 1; throat = 3", "[[panels.base.saddles]]\ntube = 20\nat = [50, 40]"))
    assert whole.side_mm == pytest.approx(math.pi * 20) and whole.runs[0].is_closed


def test_an_edge_with_a_notch_is_two_welds() -> None:
    notch = '[[panels.base.cutouts]]\nshape = "rectangle"\nat = [40, 80]\nsize = [20, 10]'
    weld = weld_of(text('edge = "top"; throat = 3', notch))
    assert sorted(run_.length_mm for run_ in weld.runs) == [pytest.approx(30), pytest.approx(50)]
    assert not any(run_.is_closed for run_ in weld.runs)


def test_all_round() -> None:
    weld = weld_of(text('edge = "all round"; throat = 3', outline='shape = "disc", diameter = 60'))
    assert weld.side_mm == pytest.approx(math.pi * 60) and weld.runs[0].is_closed


def test_a_part_of_an_edge_lies_in_its_middle() -> None:
    (run_,) = weld_of(text('edge = "top"; throat = 3; length = 40')).runs
    assert run_.length_mm == 40 and not run_.is_closed
    assert run_.middle == pytest.approx((50, 80))
    ends = sorted([run_.at(0.0), run_.at(1.0)])
    assert ends[0] == pytest.approx((30, 80)) and ends[1] == pytest.approx((70, 80))


def test_the_hanger_tab_s_toes_take_their_share() -> None:
    # Toes of radius 3 touch saddle (radius 32.25) and side from inside; the side from (24, 20) to (14, 72). The toe's
    # centre is 3 from the side and 35.25 from the pipe's centre; the weld runs between the two toes' points of touch.
    n = (52 / math.hypot(52, 10), 10 / math.hypot(52, 10))
    c = n[0] * 24 + n[1] * 20 - 3
    lean = math.atan2(n[1], n[0])
    angle = lean + math.acos(c / 35.25)
    described = (SHAPES / "hanger-tab.toml").read_text(encoding="utf-8")
    assert weld_of(described).side_mm == pytest.approx(32.25 * (math.pi - 2 * angle))


# -- limits


@pytest.mark.parametrize(
    ("thickness", "throat", "expected"),
    [
        # From 4 mm on a >= 3 mm (EN 1993-1-8, 4.5.2); thinner sheet: as thick as the sheet (EN 1993-1-3, 8.5.1).
        (4, 2.99, [(FAIL, 2.99, 3.0)]),
        (4, 3, []),
        (8, 2.9, [(FAIL, 2.9, 3.0)]),
        (8, 3, []),
        (3.99, 3.98, [(WARN, 3.98, 3.99)]),
        (2, 1.99, [(WARN, 1.99, 2.0)]),
        (2, 2, []),
    ],
)
def test_throat(thickness: float, throat: float, expected: list[tuple[Level, float, float]]) -> None:
    assert said(text(f'edge = "top"; throat = {throat}', thickness=thickness), "weld-throat") == expected


@pytest.mark.parametrize(
    ("thickness", "throat", "length", "expected"),
    [
        # L - 2a against 30 mm: 36 - 6 = 30.
        (4, 3, 35.99, [(FAIL, 29.99, 30.0)]),
        (4, 3, 36, []),
        # L - 2a against 6a: 8 x 6 = 48.
        (4, 6, 47.99, [(FAIL, 35.99, 36.0)]),
        (4, 6, 48, []),
        # Thin sheet: 8 thicknesses of the whole length.
        (2, 2, 15.99, [(FAIL, 15.99, 16.0)]),
        (2, 2, 16, []),
    ],
)
def test_length(thickness: float, throat: float, length: float, expected: list[tuple[Level, float, float]]) -> None:
    found = said(text(f'edge = "top"; throat = {throat}; length = {length}', thickness=thickness), "weld-length")
    assert [f[0] for f in found] == [e[0] for e in expected]
    for (_, *numbers), (_, *wanted) in zip(found, expected, strict=True):
        assert numbers == pytest.approx(wanted)


def test_a_closed_weld_has_no_ends_to_take_off() -> None:
    # Round of 10 mm: 31.4 mm all round passes 30, less 2 x 3 it would not.
    tube = "[[panels.base.saddles]]\ntube = 10\nat = [50, 40]"
    assert said(text("saddle = 1; throat = 3", tube), "weld-length") == []
    tube = "[[panels.base.saddles]]\ntube = 9\nat = [50, 40]"
    assert [f[0] for f in said(text("saddle = 1; throat = 3", tube), "weld-length")] == [FAIL]


def test_each_piece_of_an_edge_is_judged() -> None:
    notch = '[[panels.base.cutouts]]\nshape = "rectangle"\nat = [30, 80]\nsize = [20, 10]'
    # Pieces of 20 and 60 mm: 14 and 54 count.
    assert said(text('edge = "top"; throat = 3', notch), "weld-length") == [
        (FAIL, pytest.approx(14.0), pytest.approx(30.0))
    ]


# -- where they are told


def test_the_list_has_lengths_and_cautions() -> None:
    part = whole_way(text('edge = "top"; throat = 3; to = "rail"')).flat.part
    (line, whole, caution) = weld_lines(part, 2)
    assert line.startswith("weld base/weld-1 on edge top, to rail: fillet a 3 mm (leg 4.2 mm), 100.0 mm on both faces")
    assert line.endswith(" = 200.0 mm of weld")
    assert whole == "400 mm of weld in all for 2 parts"
    for word in ("zinc", "tack", "qualified", "60 to 120 degrees"):
        assert word in caution
    for word in ("fuel", "battery", "fume", "rubber", "extinguisher", "arc"):
        assert word in " ".join(part.cautions).casefold()
    assert any("disconnect the battery" in c for c in part.cautions)
    assert weld_lines(whole_way(plate()).flat.part, 1) == ()
    assert not any("disconnect the battery" in c for c in whole_way(plate()).flat.part.cautions)


@pytest.mark.parametrize(("metal", "softer"), [("6061-T6", True), ("5052-H32", True), ("S235", False), ("304", False)])
def test_a_temper_is_lost_beside_the_weld(metal: str, softer: bool) -> None:
    described = text('edge = "top"; throat = 4').replace('metal = "S235"', f'metal = "{metal}"')
    assert any("temper is lost" in line for line in whole_way(described).flat.part.cautions) == softer


def test_the_label_on_drawings() -> None:
    assert weld_label(weld_of(text('edge = "top"; throat = 3; length = 40'))) == "weld a3 × 40, both faces"
    assert weld_label(weld_of(text('edge = "top"; throat = 3; sides = "face"'))) == "weld a3 × 100, this face"


def test_make_pack_and_report_tell_the_weld(tmp_path: Path) -> None:
    files = written(tmp_path, tab=text('edge = "top"; throat = 3; to = "rail"'))
    made = run("make", *files, "--out", tmp_path, "--only", "json")
    assert made.code == 0 and "100.0 mm on both faces = 200.0 mm of weld" in words(made.out)
    block = json.loads((tmp_path / "tab.json").read_text(encoding="utf-8"))["hardware"]
    (weld,) = block["welds"]
    assert (weld["lengths_mm"], weld["total_mm"], weld["throat_mm"]) == ([100.0], 200.0, 3.0)
    assert any("no paint, zinc" in line for line in block["words"])
    assert run("pack", *files, "--out", tmp_path).code == 0
    assert "weld base/weld-1 on edge top" in words((tmp_path / "tab-pack" / "order.txt").read_text(encoding="utf-8"))
