"""Rules about the blank as a whole."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from parts import plate, stock
from rule_cases import levels, said

from bracketgen.findings import Level
from bracketgen.geometry.contour import box_contour
from bracketgen.geometry.placement import Placement
from bracketgen.part.part import Part

FAIL, WARN = Level.FAIL, Level.WARN


def blank(width: float, height: float, grain_deg: float | None = None, turned_deg: float = 0.0) -> Part:
    of = replace(stock(grain_deg=grain_deg), sheet_mm=(1000.0, 500.0))
    return plate(box_contour(0, 0, width, height).moved(Placement.turned(turned_deg)), of=of)


@pytest.mark.parametrize(
    ("width", "height", "expected"),
    [
        (1000.0, 500.0, []),
        (500.0, 1000.0, []),
        (1000.01, 400.0, [FAIL]),
        (999.99, 500.01, [FAIL]),
        (500.01, 999.99, [FAIL]),
        (600.0, 600.0, [FAIL]),
    ],
)
def test_blank_comes_out_of_the_sheet_either_way_round(width: float, height: float, expected: list[Level]) -> None:
    assert levels(blank(width, height), "sheet-size") == expected


@pytest.mark.parametrize(
    ("grain", "expected"), [(0.0, []), (180.0, []), (90.0, [WARN]), (-90.0, [WARN]), (45.0, [WARN])]
)
def test_rolling_direction_lies_along_the_sheet(grain: float, expected: list[Level]) -> None:
    assert levels(blank(900, 400, grain), "sheet-size") == expected


def test_grain_on_its_limit() -> None:
    assert levels(blank(500, 500, 90.0), "sheet-size") == []
    assert levels(blank(500.01, 400, 90.0), "sheet-size") == [WARN]
    # Turned by 30 degrees a square of side s is s (cos 30 + sin 30) across.
    side = 500 / (math.cos(math.pi / 6) + 0.5)
    assert levels(blank(side - 0.01, side - 0.01, 30.0), "sheet-size") == []
    (finding,) = said(blank(side + 0.01, side + 0.01, 30.0), "sheet-size")
    assert finding.measured == pytest.approx(500 + 0.01 * 1.366025, abs=1e-4)
    assert finding.required == 500


@pytest.mark.parametrize(
    ("size", "expected"), [(4.99, [FAIL]), (5.0, []), (5.01, []), (2999.99, []), (3000.0, []), (3000.01, [FAIL])]
)
def test_part_of_absurd_size(size: float, expected: list[Level]) -> None:
    assert levels(plate(box_contour(0, 0, size, 3)), "size-sanity") == expected
    assert levels(plate(box_contour(0, 0, 3, size)), "size-sanity") == expected


def test_a_slip_of_units_is_named_in_both() -> None:
    (finding,) = said(plate(box_contour(0, 0, 100 * 25.4 * 2, 30)), "size-sanity")
    assert "5080.0 mm" in finding.remedy
    assert "200.0 in" in finding.remedy
