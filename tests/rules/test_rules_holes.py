"""Rules about holes: on the limit, a hundredth of a mm to either side, and against brute force."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from parts import l_part, plate, round_hole, stock
from rule_cases import flattened, levels, opening, said, sampled, slot

from bracketgen.bending.fold import strip_frame, turned_frame
from bracketgen.findings import Level
from bracketgen.geometry.contour import Circle, box_contour, closed_chain
from bracketgen.geometry.gap import point_gap
from bracketgen.geometry.hull import hull
from bracketgen.geometry.plane import Point, polar
from bracketgen.part.hole import Hole, Purpose
from bracketgen.part.part import Part, Way

FAIL, WARN, NOTE = Level.FAIL, Level.WARN, Level.NOTE
_BIG = box_contour(-200, -200, 200, 200)
# EN 1993-1-8 table 3.3, 9 mm hole: 1.2, 2.2 and 2.4 hole diameters.
_EDGE, _PITCH, _ROW = 10.8, 19.8, 21.6


def near_edge(distance: float, hole: Hole | None = None, rule: str = "EN 1993-1-8") -> Part:
    """A hole at the origin, `distance` from a straight edge on its left."""
    part = plate(box_contour(-distance, -100, 100, 100), [hole or round_hole("h", 0, 0, 9, "M8")])
    return replace(part, edge_rule=rule)


# -- hole-edge


@pytest.mark.parametrize(
    ("distance", "expected"),
    [(_EDGE - 0.01, [FAIL]), (_EDGE, [WARN]), (_EDGE + 0.01, [WARN]), (18 - 0.01, [WARN]), (18, []), (18.01, [])],
)
def test_edge_distance_of_a_9_mm_hole(distance: float, expected: list[Level]) -> None:
    findings = said(near_edge(distance), "hole-edge")
    assert [f.level for f in findings] == expected
    for f in findings:
        assert f.measured == pytest.approx(distance, abs=1e-12)
        assert f.required == pytest.approx(_EDGE if f.level is FAIL else 18)
        assert f.at_mm == pytest.approx((0, 0))


def test_remedy_says_how_far_to_move() -> None:
    (finding,) = said(near_edge(8.5), "hole-edge")
    assert "2.3 mm" in finding.remedy
    assert said(near_edge(8.5 + 2.3), "hole-edge")[0].level is WARN


@pytest.mark.parametrize(
    ("rule", "bolt", "hole", "least"),
    [
        # AC 43.13-1B: two bolt diameters; AISC 360-16 table J3.4: 22 mm for M16, 3/4 in for 1/2 in.
        ("aviation 2D", "M8", 9.0, 16.0),
        ("AISC 360-16", "M16", 18.0, 22.0),
        ("AISC 360-16", "1/2", 14.0, 19.05),
        ("AISC 360-05 sheared", "M16", 18.0, 28.0),
    ],
)
def test_other_edge_rules(rule: str, bolt: str, hole: float, least: float) -> None:
    h = round_hole("h", 0, 0, hole, bolt)
    assert levels(near_edge(least - 0.01, h, rule), "hole-edge") == [FAIL]
    assert levels(near_edge(least, h, rule), "hole-edge") != [FAIL]


def test_bolt_too_small_for_the_rule_falls_back_to_structural_steel_and_says_so() -> None:
    (finding,) = said(near_edge(_EDGE - 0.01, rule="AISC 360-16"), "hole-edge")
    assert finding.level is FAIL
    assert finding.required == pytest.approx(_EDGE)
    assert "prints nothing for so small a bolt" in finding.source
    assert levels(near_edge(_EDGE, rule="AISC 360-16"), "hole-edge") == [WARN]


@pytest.mark.parametrize("direction", [0.0, 90.0, 30.0])
def test_slot_is_measured_from_the_centre_of_its_end(direction: float) -> None:
    # EN 1993-1-8 table 3.3: 1.5 hole diameters from the axis of a slot. Half the slot's core is (21 - 9) / 2 = 6.
    reach = 6 * abs(math.cos(math.radians(direction)))
    hole = slot("s", 0, 0, 9, 21, direction, "M8")
    assert levels(near_edge(reach + 13.5 - 0.01, hole), "hole-edge") == [FAIL]
    assert levels(near_edge(reach + 13.5, hole), "hole-edge") == [WARN]


def test_cut_out_is_an_edge_and_another_bolt_hole_is_not() -> None:
    hole = round_hole("h", 0, 0, 9, "M8")
    window = opening("w", box_contour(_EDGE - 0.01, -10, 60, 10))
    assert levels(plate(_BIG, [hole, window]), "hole-edge") == [FAIL]
    assert levels(plate(_BIG, [hole, round_hole("i", 15, 0, 9, "M8")]), "hole-edge") == []


def test_only_the_nearest_edge_of_a_hole_is_reported() -> None:
    part = plate(box_contour(-9, -10, 100, 100), [round_hole("h", 0, 0, 9, "M8")])
    assert [f.measured for f in said(part, "hole-edge")] == [9.0]


def test_plain_holes_carry_no_bolt() -> None:
    assert levels(near_edge(6, round_hole("h", 0, 0, 9, purpose=Purpose.PLAIN)), "hole-edge") == []


discs = st.builds(lambda x, y, r: Circle(Point(x, y), r), st.floats(-40, 40), st.floats(-40, 40), st.floats(12, 25))


@settings(max_examples=30)
@given(st.lists(discs, min_size=1, max_size=4), st.floats(0, 1), st.floats(0, math.tau))
def test_distance_equals_brute_force_over_a_curved_outline(pads: list[Circle], share: float, angle: float) -> None:
    outline = hull(pads)
    pad = pads[0]
    centre = Point(pad.centre.x + 10 * share * math.cos(angle), pad.centre.y + 10 * share * math.sin(angle))
    step = 0.25
    brute = min(centre.distance(p) for p in sampled(outline.edges, step))
    findings = said(plate(outline, [round_hole("h", centre.x, centre.y, 10.0, "M8")]), "hole-edge")
    # Sampling can only overrate the distance, by no more than this (half a step beside the true foot).
    slack = step**2 / 8 / min(brute, 12.0) + 1e-9
    if brute < 12 - 1e-6 or brute - slack > 20:
        assert [f.level for f in findings] == ([FAIL] if brute < 12 else [])
    for f in findings:
        assert f.measured is not None
        assert -1e-9 <= brute - f.measured <= slack


# -- hole-spacing


@pytest.mark.parametrize(
    ("apart", "expected"),
    [(_PITCH - 0.01, [FAIL]), (_PITCH, [WARN]), (_ROW - 0.01, [WARN]), (_ROW, []), (_ROW + 0.01, [])],
)
@pytest.mark.parametrize("direction", [0.0, 37.0])
def test_spacing_of_9_mm_holes(apart: float, expected: list[Level], direction: float) -> None:
    x, y = apart * math.cos(math.radians(direction)), apart * math.sin(math.radians(direction))
    part = plate(_BIG, [round_hole("a", 0, 0, 9, "M8"), round_hole("b", x, y, 9, "M8")])
    findings = said(part, "hole-spacing")
    assert [f.level for f in findings] == expected
    assert [f.subject for f in findings] == ["a and b"] * len(expected)
    assert all(f.at_mm == pytest.approx((x / 2, y / 2)) for f in findings)


def test_spacing_of_unequal_holes_is_the_mean_of_both_limits() -> None:
    least = 2.2 * (9 + 13.5) / 2
    for apart, expected in [(least - 0.01, [FAIL]), (least, [WARN])]:
        part = plate(_BIG, [round_hole("a", 0, 0, 9, "M8"), round_hole("b", 0, apart, 13.5, "M12")])
        assert levels(part, "hole-spacing") == expected


def test_spacing_of_slots_runs_from_axis_to_axis() -> None:
    crossing = [slot("a", 0, 0, 9, 29, 0, "M8"), slot("b", 10 + _PITCH - 0.01, 0, 9, 29, 90, "M8")]
    assert levels(plate(_BIG, crossing), "hole-spacing") == [FAIL]
    beside = [slot("a", 0, 0, 9, 29, 0, "M8"), round_hole("b", 10 + _ROW, 0, 9, "M8")]
    assert levels(plate(_BIG, beside), "hole-spacing") == []


def test_direction_of_a_slot_turns_anticlockwise() -> None:
    for direction in (30.0, 130.0):
        p = polar(10 + _PITCH - 0.01, math.radians(direction))
        ahead = [slot("a", 0, 0, 9, 29, direction, "M8"), round_hole("b", p.x, p.y, 9, "M8")]
        assert levels(plate(_BIG, ahead), "hole-spacing") == [FAIL]
        mirrored = [slot("a", 0, 0, 9, 29, -direction, "M8"), round_hole("b", p.x, p.y, 9, "M8")]
        assert levels(plate(_BIG, mirrored), "hole-spacing") == []


# -- hole-outside


def test_hole_must_lie_in_its_own_panel() -> None:
    inside = l_part(base_holes=[round_hole("h", 20, 25, 9)])
    assert said(inside, "hole-outside") == []
    beyond = l_part(base_holes=[round_hole("h", 20, 50.01, 9)])
    (finding,) = said(beyond, "hole-outside")
    assert finding.level is FAIL
    assert finding.measured == pytest.approx(-0.01)
    assert said(l_part(base_holes=[round_hole("h", 20, 49.99, 9)]), "hole-outside") == []


# -- head-flat

# ISO 7089: the M8 washer is 16 mm across; ISO 4014: the M8 head 13 mm across flats, so 15.011 across corners.
_WASHER, _HEAD = 8.0, 13 / math.cos(math.pi / 6) / 2


@pytest.mark.parametrize("way", list(Way))
@pytest.mark.parametrize(("gap", "expected"), [(7.99, [FAIL]), (8.0, []), (8.01, [])])
def test_washer_circle_stops_at_the_tangent_line(way: Way, gap: float, expected: list[Level]) -> None:
    """Moved toward the bend, the finding appears exactly where the circle meets the tangent; both panels alike."""
    base = l_part(way=way, base_holes=[round_hole("h", 20, 50 - gap, 9, "M8")])
    leg = l_part(way=way, leg_holes=[round_hole("h", 20, gap, 9, "M8")])
    assert levels(base, "head-flat") == expected
    assert levels(leg, "head-flat") == expected


def test_moving_toward_the_bend_a_tenth_at_a_time() -> None:
    gaps = [k / 10 for k in range(60, 100)]
    bad = [g for g in gaps if levels(l_part(leg_holes=[round_hole("h", 20, g, 9, "M8")]), "head-flat")]
    assert bad == [g for g in gaps if g < _WASHER]


def test_head_over_an_edge_fails_and_washer_alone_warns() -> None:
    cases = [(_HEAD - 0.01, [FAIL]), (_HEAD + 0.001, [WARN]), (_WASHER - 0.01, [WARN]), (_WASHER, [])]
    for distance, expected in cases:
        assert levels(near_edge(distance), "head-flat") == expected


def test_slot_needs_the_washer_room_all_along() -> None:
    leg = [slot("s", 20, 6 + _WASHER - 0.01, 9, 21, 90, "M8")]
    assert levels(l_part(leg=60, leg_holes=leg), "head-flat") == [FAIL]
    assert levels(l_part(leg=60, leg_holes=[slot("s", 20, 6 + _WASHER, 9, 21, 90, "M8")]), "head-flat") == []


def leaning_face_over_parent(part: Part, height: float) -> float:
    """How far the other leg stands over the parent at any height up to `height`, by sampling arc and leg in space."""
    bend = part.bends[0]
    _flat, folded = flattened(part)
    own = strip_frame(bend, folded.frames[bend.parent])
    inner = 0.0 if bend.way is Way.UP else -part.stock.thickness_mm
    over = 0.0
    for k in range(3201):
        turned = turned_frame(bend, part.stock.thickness_mm, bend.turn_deg * min(1.0, k / 200))
        beyond = max(0.0, (k - 200) / 3000 * 30.0)
        _x, y, z = turned.within(own).point((0.0, beyond, inner))
        above = z if bend.way is Way.UP else -part.stock.thickness_mm - z
        if 0 <= above <= height:
            over = max(over, 50.0 - y)
    return over


@pytest.mark.parametrize("turn", [45.0, 90.0, 105.0, 120.0, 135.0])
@pytest.mark.parametrize("way", list(Way))
def test_leg_that_leans_over_the_head_is_counted(turn: float, way: Way) -> None:
    # ISO 4032: the M12 nut is 10.8 mm high, the head 7.5 (ISO 4014); ISO 7089: its washer is 24 mm across.
    lean = leaning_face_over_parent(l_part(turn_deg=turn, way=way), 10.8)
    assert (lean > 0.5) is (turn >= 120)
    for extra, expected in [(-0.03, [FAIL]), (0.03, [])]:
        hole = round_hole("h", 20, 50 - 12 - lean - extra, 13.5, "M12")
        assert levels(l_part(turn_deg=turn, way=way, base_holes=[hole]), "head-flat") == expected


def test_hole_without_a_named_bolt_has_no_head() -> None:
    assert levels(near_edge(5, round_hole("h", 0, 0, 9)), "head-flat") == []


# -- thermal-thread


def threaded(purpose: Purpose, process: str, pilot: float | None) -> Part:
    hole = round_hole("h", 50, 50, 6.8, "M8", purpose)
    if pilot is not None:
        hole = replace(hole, pilot=Circle(hole.centre, pilot / 2))
    return plate(box_contour(0, 0, 100, 100), [hole], stock(process_id=process))


@pytest.mark.parametrize("process", ["laser", "plasma"])
def test_thread_in_a_hot_cut_edge(process: str) -> None:
    tapped = [FAIL] if process == "plasma" else [WARN]
    assert levels(threaded(Purpose.TAPPED, process, None), "thermal-thread") == tapped
    assert levels(threaded(Purpose.DOWEL, process, None), "thermal-thread") == [FAIL]
    assert levels(threaded(Purpose.RIVET_NUT, process, None), "thermal-thread") == [WARN]
    assert levels(threaded(Purpose.CLEARANCE, process, None), "thermal-thread") == []
    (note,) = said(threaded(Purpose.TAPPED, process, 5.5), "thermal-thread")
    assert note.level is NOTE
    assert "5.5 mm" in note.remedy
    assert "6.8 mm" in note.remedy


@pytest.mark.parametrize("process", ["waterjet", "punch", "hand"])
def test_cold_processes_leave_threads_alone(process: str) -> None:
    assert levels(threaded(Purpose.TAPPED, process, None), "thermal-thread") == []


def test_triangle_edge_at_an_angle_is_measured_square_to_it() -> None:
    outline = closed_chain([Point(-100, -60), Point(100, -60), Point(0, 80)])
    centre = Point(0, 60)
    expected = point_gap(centre, outline).mm
    by_hand = 20 * math.sin(math.atan2(100, 140))
    assert expected == pytest.approx(by_hand)
    (finding,) = said(plate(outline, [round_hole("h", 0, 60, 10, "M8")]), "hole-edge")
    assert finding.measured == pytest.approx(by_hand)
