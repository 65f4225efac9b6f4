"""Rules about the blank as a whole."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from parts import plate, stock
from rule_cases import levels, said

from bracketgen.findings import Level
from bracketgen.geometry.contour import box_contour, closed_chain
from bracketgen.geometry.edge import Line
from bracketgen.geometry.plane import Placement, Point
from bracketgen.part.part import Bend, Panel, Part, Way

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


@pytest.mark.parametrize(("grain", "expected"), [(None, []), (30.0, []), (-30.0, [WARN]), (120.0, [WARN]), (210.0, [])])
def test_blank_drawn_at_an_angle_is_laid_along_its_edges(grain: float | None, expected: list[Level]) -> None:
    assert levels(blank(999, 499, grain, turned_deg=30), "sheet-size") == expected
    (finding,) = said(blank(1000.5, 499, grain, turned_deg=30), "sheet-size")
    assert finding.level is FAIL
    assert finding.measured == pytest.approx(1000.5)


def test_a_slip_of_units_is_named_in_both() -> None:
    (finding,) = said(plate(box_contour(0, 0, 100 * 25.4 * 2, 30)), "size-sanity")
    assert "5080.0 mm" in finding.remedy
    assert "200.0 in" in finding.remedy


def channel(height: float, lip: float, turn: float = 90.0) -> Part:
    """A 40 mm web, 60 mm wide, with a flange up on either side; each flange ends in a lip bent inward."""
    end = Line(Point(0, 0), Point(60, 0))
    web, flange, edge = box_contour(0, 0, 60, 40), box_contour(0, 0, 60, height), box_contour(0, 0, 60, lip)
    upper, lower = Line(Point(0, 40), Point(60, 40)), Line(Point(60, 0), Point(0, 0))
    far = Line(Point(0, height), Point(60, height))
    bends = (
        Bend("upper bend", "web", "upper", upper, end, turn, Way.UP, 3.0),
        Bend("lower bend", "web", "lower", lower, end, turn, Way.UP, 3.0),
        Bend("upper lip bend", "upper", "upper lip", far, end, 90.0, Way.UP, 3.0),
        Bend("lower lip bend", "lower", "lower lip", far, end, 90.0, Way.UP, 3.0),
    )
    panels = (Panel("web", web), Panel("upper", flange), Panel("lower", flange), Panel("upper lip", edge))
    return Part("c", "C", stock(), (*panels, Panel("lower lip", edge)), bends, "EN 1993-1-8", 1.0)


def test_lips_of_a_channel_that_meet() -> None:
    # Between the flanges lie 40 + 2 x 3 mm; each lip takes its bend's 3 mm and its own length.
    assert said(channel(30, 20 - 0.1), "self-collision") == []
    (finding,) = said(channel(30, 20 + 0.2), "self-collision")
    assert (finding.level, finding.subject) == (FAIL, "upper lip and lower lip")
    assert finding.at_mm is not None
    x, y = finding.at_mm
    # In the flat the upper lip ends at web 40, two allowances, flange 30, lip 20.2; the hit lies at its very end.
    end = 40 + 2 * math.pi / 2 * (3 + 0.44 * 3) + 30 + 20.2
    assert 0 <= x <= 60
    assert end - 0.5 < y < end + 0.5
    assert said(channel(30, 20 + 0.2), "flat-overlap") == []


def neighbours(gap: float) -> Part:
    """Two tabs on the two sides of an inner corner; in the flat they come nearer with their length."""
    base = closed_chain([Point(*p) for p in ((0, 0), (100, 0), (100, 40), (40, 40), (40, 100), (0, 100))])
    allowance = math.pi / 2 * (3 + 0.44 * 3)
    long = 60 - allowance - 10 - gap
    first = Bend("a", "base", "first", Line(Point(60, 40), Point(100, 40)), Line(Point(0, 0), Point(40, 0)), 90.0,
                 Way.UP, 3.0)  # fmt: skip
    second = Bend("b", "base", "second", Line(Point(40, 100), Point(40, 90)), Line(Point(0, 0), Point(10, 0)), 90.0,
                  Way.UP, 3.0)  # fmt: skip
    tall = box_contour(0, 0, 40, long)
    panels = (Panel("base", base), Panel("first", tall), Panel("second", box_contour(0, 0, 10, 50)))
    return Part("n", "N", stock(), panels, (first, second), "EN 1993-1-8", 1.0)


def test_two_tabs_that_claim_the_same_metal() -> None:
    # The first tab ends `gap` below the second, which is 10 mm wide and passes over it.
    assert said(neighbours(0.01), "flat-overlap") == []
    (finding,) = said(neighbours(-0.01), "flat-overlap")
    assert (finding.level, finding.subject, finding.unit) == (FAIL, "first and second", "mm2")
    allowance = math.pi / 2 * (3 + 0.44 * 3)
    shared = 40 + allowance + 50 - 60
    assert finding.measured == pytest.approx(shared * 0.01, abs=1e-6)
    assert finding.at_mm is not None
    assert 89.99 <= finding.at_mm[1] <= 90.01
