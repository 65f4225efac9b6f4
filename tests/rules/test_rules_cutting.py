"""Rules about the cutting process: on the limit, a hundredth of a mm to either side, and zero width."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from parts import plate, round_hole, stock
from rule_cases import levels, opening, said, sampled, slot

from bracketgen.findings import Level
from bracketgen.geometry.contour import Circle, Contour, box_contour, closed_chain
from bracketgen.geometry.edge import Arc, Line
from bracketgen.geometry.plane import Placement, Point, polar
from bracketgen.geometry.rounding import Corner, CornerFit, round_corners
from bracketgen.part.hole import Purpose
from bracketgen.part.part import Part

FAIL, WARN = Level.FAIL, Level.WARN
_BIG = box_contour(0, 0, 100, 100)
# Laser, 3 mm: hole, slot and web at least once the thickness (the process table, common practice).
_LIMIT = 3.0


def chain(*corners: tuple[float, float]) -> Contour:
    return closed_chain([Point(x, y) for x, y in corners])


# -- min-hole


@pytest.mark.parametrize(
    ("process", "least"),
    # The multiples of the process table times 4 mm, or its least mm.
    [("laser", 4.0), ("plasma", 6.0), ("waterjet", 2.0), ("punch", 4.0), ("hand", 2.0)],
)
def test_smallest_hole(process: str, least: float) -> None:
    of = stock(4.0, process_id=process)
    for diameter, expected in [(least - 0.01, [FAIL]), (least, []), (least + 0.01, [])]:
        hole = round_hole("h", 50, 50, diameter, purpose=Purpose.PLAIN)
        assert levels(plate(_BIG, [hole], of), "min-hole") == expected


def test_the_pilot_is_what_gets_cut() -> None:
    hole = replace(round_hole("h", 50, 50, 4.2, "M5", Purpose.TAPPED), pilot=Circle(Point(50, 50), 1.49))
    (finding,) = said(plate(_BIG, [hole]), "min-hole")
    assert (finding.measured, finding.required) == (pytest.approx(2.98), 3.0)


# -- min-slot


@pytest.mark.parametrize(("width", "expected"), [(2.99, [FAIL]), (3.0, []), (3.01, [])])
def test_narrowest_slot_notch_and_opening(width: float, expected: list[Level]) -> None:
    assert levels(plate(_BIG, [slot("s", 50, 50, width, 20, 30)]), "min-slot") == expected
    notch = chain((0, 0), (40, 0), (40, 30), (40 + width, 30), (40 + width, 0), (100, 0), (100, 100), (0, 100))
    assert levels(plate(notch), "min-slot") == expected
    assert levels(plate(_BIG, [opening("o", box_contour(20, 20, 60, 20 + width))]), "min-slot") == expected


def test_notch_is_reported_where_it_is() -> None:
    notch = chain((0, 0), (40, 0), (40, 30), (42, 30), (42, 0), (100, 0), (100, 100), (0, 100))
    (finding,) = said(plate(notch), "min-slot")
    assert finding.measured == pytest.approx(2.0)
    assert finding.at_mm is not None
    assert finding.at_mm[0] == pytest.approx(41)
    assert 0 <= finding.at_mm[1] <= 30
    assert levels(plate(notch), "min-web") == []


# -- min-web


def web(part: Part) -> list[tuple[Level, float | None]]:
    return [(f.level, f.measured) for f in said(part, "min-web")]


@pytest.mark.parametrize(("gap", "expected"), [(2.99, [FAIL]), (3.0, []), (3.01, [])])
@pytest.mark.parametrize("direction", [0.0, 25.0])
def test_web_between_cuts(gap: float, expected: list[Level], direction: float) -> None:
    def beside(distance: float) -> Point:
        return Point(50, 50).plus(polar(distance, math.radians(direction)))

    first = round_hole("a", 50, 50, 9)
    p = beside(4.5 + gap + 3)
    assert levels(plate(_BIG, [first, round_hole("b", p.x, p.y, 6)]), "min-web") == expected
    p = beside(4.5 + gap + 10)
    assert levels(plate(_BIG, [first, slot("b", p.x, p.y, 6, 20, direction)]), "min-web") == expected
    p = beside(4.5 + gap + 3)
    assert levels(plate(_BIG, [first, slot("b", p.x, p.y, 6, 20, direction + 90)]), "min-web") == expected
    assert levels(plate(_BIG, [round_hole("a", 4.5 + gap, 50, 9)]), "min-web") == expected
    window = opening("w", box_contour(54.5 + gap, 40, 80, 60))
    assert levels(plate(_BIG, [first, window]), "min-web") == expected


def test_zero_webs_all_fail() -> None:
    """Tangent to the edge, two tangent holes, hole tangent to a slot, to an opening, crossing, on top, inside."""
    first = round_hole("a", 50, 50, 10)
    pairs = {
        "edge": [round_hole("a", 5, 50, 10)],
        "hole": [first, round_hole("b", 62, 50, 14)],
        "turned": [first, round_hole("b", 50 + 12 * math.cos(1), 50 + 12 * math.sin(1), 14)],
        "slot": [first, slot("b", 58, 50, 6, 30, 90)],
        "slot end": [first, slot("b", 65, 50, 6, 20, 0)],
        "opening": [first, opening("b", box_contour(55, 40, 70, 60))],
        "crossing": [first, round_hole("b", 53, 50, 10)],
        "same place": [first, round_hole("b", 50, 50, 10)],
        "hole inside hole": [round_hole("a", 50, 50, 60), round_hole("b", 50, 50, 10)],
        "hole inside opening": [opening("a", box_contour(20, 20, 80, 80)), round_hole("b", 50, 50, 10)],
        "opening inside hole": [round_hole("a", 50, 50, 70), opening("b", box_contour(45, 45, 55, 55))],
        "over the edge": [round_hole("a", 2, 50, 10)],
    }
    for name, holes in pairs.items():
        found = web(plate(_BIG, holes))
        assert (FAIL, 0.0) in [(level, round(mm or 0.0, 7)) for level, mm in found], name


@settings(max_examples=60)
@given(st.floats(5, 20), st.floats(5, 20), st.floats(0, math.tau), st.floats(0.2, 2.9), st.floats(0, 180))
def test_web_of_a_hole_and_a_slot_equals_brute_force(r: float, half: float, at: float, gap: float, turn: float) -> None:
    first = slot("a", 0, 0, 8, 8 + 2 * half, turn)
    p = polar(4 + half + r + gap, at)
    assert isinstance(first.cut, Contour)
    brute = min(p.distance(q) for q in sampled(first.cut.edges, 0.05)) - r
    assume(brute < 2.95)
    part = plate(box_contour(-99, -99, 99, 99), [first, round_hole("b", p.x, p.y, 2 * r)])
    (finding,) = said(part, "min-web")
    assert finding.measured is not None
    # A sample lies at most half a step beside the true foot, where a round of 4 mm and one of r + gap part.
    assert -1e-9 <= brute - finding.measured <= 0.025**2 / 2 * (1 / r + 1 / 4) + 1e-9
    assert finding.at_mm is not None
    assert abs(Point(*finding.at_mm).distance(p) - r - finding.measured / 2) < 1e-6


@pytest.mark.parametrize(("width", "expected"), [(2.99, [FAIL]), (3.0, []), (3.01, [])])
def test_neck_between_two_notches(width: float, expected: list[Level]) -> None:
    top, bottom = 20 + width / 2, 20 - width / 2
    square = chain((0, 0), (40, 0), (40, bottom), (60, bottom), (60, 0), (99, 0), (99, 40), (60, 40), (60, top),
                   (40, top), (40, 40), (0, 40))  # fmt: skip
    assert levels(plate(square), "min-web") == expected
    pointed = chain((0, 0), (40, 0), (50, bottom), (60, 0), (99, 0), (99, 40), (60, 40), (50, top), (40, 40), (0, 40))
    found = said(plate(pointed), "min-web")
    assert [f.level for f in found] == expected
    assert all(f.at_mm == pytest.approx((50, 20)) for f in found)
    blunt = chain((0, 0), (20, 0), (50, bottom), (80, 0), (99, 0), (99, 40), (0, 40))
    assert levels(plate(blunt), "min-web") == []


@pytest.mark.parametrize(("width", "expected"), [(2.99, [FAIL]), (3.0, [])])
def test_neck_between_a_pointed_notch_and_a_straight_edge(width: float, expected: list[Level]) -> None:
    outline = chain((0, 0), (48, 0), (50, 40 - width), (52, 0), (99, 0), (99, 40), (0, 40))
    found = said(plate(outline), "min-web")
    assert [f.level for f in found] == expected
    assert all(f.at_mm == pytest.approx((50, 40 - width / 2)) for f in found)


@pytest.mark.parametrize(("width", "expected"), [(2.99, [FAIL]), (3.0, [])])
def test_neck_between_round_notches_and_thin_tab(width: float, expected: list[Level]) -> None:
    r = 8.0
    low = Arc.make(Point(50 - r, 0), Point(50 + r, 0), Point(50, 0), r, -1.0)
    high_y = 2 * r + width
    high = Arc.make(Point(50 + r, high_y), Point(50 - r, high_y), Point(50, high_y), r, -1.0)
    lines = [Line(Point(0, 0), low.start), low, Line(low.end, Point(99, 0)), Line(Point(99, 0), Point(99, high_y))]
    lines += [Line(Point(99, high_y), high.start), high, Line(high.end, Point(0, high_y))]
    lines += [Line(Point(0, high_y), Point(0, 0))]
    found = said(plate(Contour(tuple(lines))), "min-web")
    assert [f.level for f in found] == expected
    assert all(f.at_mm == pytest.approx((50, high_y / 2)) for f in found)
    tab = chain((0, 0), (99, 0), (99, 30), (40, 30), (40, 60), (40 - width, 60), (40 - width, 30), (0, 30))
    assert levels(plate(tab), "min-web") == expected


def test_thin_tapered_tab_fails_and_corners_do_not() -> None:
    tapered = chain((0, 0), (99, 0), (99, 30), (42, 30), (41, 60), (40, 60), (38, 30), (0, 30))
    assert levels(plate(tapered), "min-web") == [FAIL]
    gusset = chain((0, 0), (80, 0), (0, 80))
    for radius in (0.2, 1.0, 5.0):
        rounded, _ = round_corners(gusset, radius, Corner.OUTER, CornerFit.EXACT)
        assert levels(plate(rounded), "min-web") == []
        assert levels(plate(rounded), "min-slot") == []
        framed = plate(box_contour(-20, -20, 120, 120), [opening("o", rounded)])
        assert levels(framed, "min-slot") == []


def test_chain_that_touches_itself_has_no_metal_there() -> None:
    pinched = chain((0, 0), (40, 0), (50, 20), (60, 0), (99, 0), (99, 40), (60, 40), (50, 20), (40, 40), (0, 40))
    found = said(plate(pinched), "min-web")
    assert [(f.level, f.measured) for f in found] == [(FAIL, 0.0)]
    assert found[0].at_mm == pytest.approx((50, 20))


def test_tongue_into_an_opening() -> None:
    for width, expected in [(2.99, [FAIL]), (3.0, [])]:
        hole = opening("o", chain((10, 10), (90, 10), (90, 60), (50 + width, 60), (50 + width, 20), (50, 20), (50, 60),
                                  (10, 60)))  # fmt: skip
        assert levels(plate(_BIG, [hole]), "min-web") == expected


@settings(max_examples=40, deadline=None)
@given(st.floats(1.0, 6.0), st.floats(6, 12), st.floats(6, 12), st.floats(0, 90))
def test_neck_agrees_with_shrinking_a_polygon(width: float, r1: float, r2: float, turn: float) -> None:
    """An independent way: a plate shrunk by half the limit falls apart exactly where a neck is too thin."""
    from shapely import Polygon

    assume(abs(width - _LIMIT) > 0.05)
    height = r1 + width + r2
    corners = [(-40.0, 0.0), (40.0, 0.0), (40.0, height), (-40.0, height)]
    low = Arc.make(Point(-r1, 0), Point(r1, 0), Point(0, 0), r1, -1.0)
    high = Arc.make(Point(r2, height), Point(-r2, height), Point(0, height), r2, -1.0)
    a, b, c, d = (Point(x, y) for x, y in corners)
    outline = Contour((Line(a, low.start), low, Line(low.end, b), Line(b, c), Line(c, high.start), high,
                       Line(high.end, d), Line(d, a)))  # fmt: skip
    outline = outline.moved(Placement.turned(turn))
    shrunk = Polygon(sampled(outline.edges, 0.1)).buffer(-_LIMIT / 2)
    apart = shrunk.geom_type == "MultiPolygon"
    assert (levels(plate(outline), "min-web") == [FAIL]) is apart


# -- short-edge, sharp-corner, process-thickness


@pytest.mark.parametrize(("length", "expected"), [(0.049, [FAIL]), (0.05, []), (0.06, [])])
def test_short_edges(length: float, expected: list[Level]) -> None:
    stepped = chain((0, 0), (100, 0), (100, 100), (50, 100), (50, 100 - length), (0, 100 - length))
    assert levels(plate(stepped), "short-edge") == expected


@pytest.mark.parametrize(("radius", "expected"), [(0.99, True), (1.0, False), (1.01, False)])
def test_outer_radius(radius: float, expected: bool) -> None:
    rounded, _ = round_corners(_BIG, radius, Corner.OUTER, CornerFit.EXACT)
    findings = said(plate(rounded), "sharp-corner")
    assert len(findings) == (4 if expected else 0)
    for f in findings:
        assert f.level is WARN
        assert f.measured == pytest.approx(radius)


def test_sharp_vertices_are_found_where_they_stick_out_and_only_there() -> None:
    # The corner at (50, 50) runs in.
    ell = chain((0, 0), (100, 0), (100, 50), (50, 50), (50, 100), (0, 100))
    found = {f.at_mm for f in said(plate(ell), "sharp-corner")}
    assert found == {(0, 0), (100, 0), (100, 50), (50, 100), (0, 100)}
    window = opening("w", chain((10, 10), (40, 10), (40, 40), (25, 20), (10, 40)))
    rounded, _ = round_corners(_BIG, 2.0, Corner.OUTER, CornerFit.EXACT)
    assert [f.at_mm for f in said(plate(rounded, [window]), "sharp-corner")] == [(25, 20)]


@pytest.mark.parametrize(("turn", "expected"), [(9.9, 0), (10.1, 1)])
def test_blunt_corners_cut_nobody(turn: float, expected: int) -> None:
    tip = 50 * math.tan(math.radians(turn) / 2)
    roof = chain((0, 0), (100, 0), (100, 60), (50, 60 + tip), (0, 60))
    at_tip = [f for f in said(plate(roof), "sharp-corner") if f.at_mm == (50, 60 + tip)]
    assert len(at_tip) == expected


def test_no_outer_radius_asked_for_means_none_missed() -> None:
    assert said(replace(plate(_BIG), least_outer_radius_mm=0.0), "sharp-corner") == []


@pytest.mark.parametrize(
    ("process", "thickness", "expected"),
    # ISO 9013: laser 0.5 to 32 mm, plasma 0.5 to 150 mm.
    [("laser", 0.49, [WARN]), ("laser", 0.5, []), ("laser", 32.0, []), ("laser", 32.01, [WARN]), ("hand", 0.4, [])],
)
def test_scope_of_the_tolerance_standard(process: str, thickness: float, expected: list[Level]) -> None:
    assert levels(plate(_BIG, of=stock(thickness, process_id=process)), "process-thickness") == expected
