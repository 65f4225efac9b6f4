"""Rules about bends: every row of the radius table, and every other rule on the limit and beside it."""

from __future__ import annotations

import math
import tomllib
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from parts import l_part, round_hole, stock
from rule_cases import bend_on, flattened, levels, notched_base, opening, said, slot, with_leg_limit

from bracketgen.findings import Level
from bracketgen.geometry.contour import Contour, box_contour, closed_chain
from bracketgen.geometry.edge import Arc, Line
from bracketgen.geometry.plane import Placement, Point
from bracketgen.geometry.rounding import Corner, CornerFit, round_corners
from bracketgen.part.hole import Hole
from bracketgen.part.part import Bend, Panel, Part, Way
from bracketgen.standards.metals import metal, metal_ids
from bracketgen.standards.table import load_table
from bracketgen.terminal.finding_lines import finding_lines

FAIL, WARN, NOTE = Level.FAIL, Level.WARN, Level.NOTE
#: K 0.44, R 3, t 3, square: pi / 2 x (3 + 0.44 x 3).
_ALLOWANCE = math.pi / 2 * 4.32


def chain(*corners: tuple[float, float]) -> Contour:
    return closed_chain([Point(x, y) for x, y in corners])


# -- bend-radius, grain-unknown


def table_rows() -> list[tuple[str, float, float, float, str, float]]:
    """(metal, thickness, grain degrees, least radius, direction, printed radius) straight from the table's text.

    The printed radius is the one across where only habit adds something along, 0 where no publication has one.
    """
    first_metal = {metal(m).bend_group: m for m in reversed(metal_ids())}
    rows = []
    for row in load_table("bend_radius").rows:
        t = float(row["thickness_to_mm"])
        for way, grain in (("across", 90.0), ("along", 0.0)):
            per_t = row[f"{way}_per_t"]
            least = float(per_t) * t if per_t else float(row[f"{way}_mm"])
            how = row["how_along"] if way == "along" else row["how"]
            across = float(row["across_per_t"]) * t if row["across_per_t"] else float(row["across_mm"])
            printed = least if how != "common practice" else across if row["how"] != "common practice" else 0.0
            rows.append((first_metal[row["bend_group"]], t, grain, least, way, printed))
    return rows


def natural_mm(t: float) -> float:
    """What the usual die leaves: the next V of the chart from 6 t to 2.5 mm, 8 t to 8, 10 t to 12, then 12 t."""
    wanted = t * next(per_t for to, per_t in ((2.5, 6), (8, 8), (12, 10), (14, 12), (math.inf, 1e9)) if t <= to)
    chart = ((float(row["opening_mm"]), float(row["natural_radius_mm"])) for row in load_table("dies").rows)
    return next((radius for opening, radius in chart if opening >= wanted - 1e-9), math.inf)


@pytest.mark.parametrize(("metal_id", "t", "grain", "least", "way", "printed"), table_rows())
def test_every_row_of_the_radius_table(
    metal_id: str, t: float, grain: float, least: float, way: str, printed: float
) -> None:
    of = stock(t, metal_id, grain_deg=grain)
    # Over the usual die a habit only warns; what a publication prints fails.
    habit = printed <= least - 0.01 and natural_mm(t) <= least - 0.01
    for radius, expected in [(least - 0.01, [WARN if habit else FAIL]), (least, []), (least + 0.01, [])]:
        if radius >= 0:
            found = said(l_part(inside_radius=radius, base=200, leg=200, of=of), "bend-radius")
            assert [f.level for f in found] == expected
            for f in found:
                assert f.required == pytest.approx(least)
                assert ("parallel to the rolling direction" in f.remedy) is (way == "along")


@pytest.mark.parametrize(
    ("metal_id", "t", "grain", "least"),
    # DIN 6935: steel to 390 MPa over 3 to 4 mm: 5; EN 10025-2: along, 6. AC 43.13-1B table 4-6: 2024-T3, .063: 4-5 t.
    [("S235", 4.0, 90.0, 5.0), ("S235", 4.0, 0.0, 6.0), ("S235", 4.0, None, 6.0), ("2024-T3", 1.6, 90.0, 8.0)],
)
def test_printed_radii(metal_id: str, t: float, grain: float | None, least: float) -> None:
    of = stock(t, metal_id, grain_deg=grain)
    assert levels(l_part(inside_radius=least - 0.01, of=of), "bend-radius") == [FAIL]
    assert levels(l_part(inside_radius=least, of=of), "bend-radius") == []


def test_a_habit_warns_over_the_usual_die_and_fails_below_it() -> None:
    # 1.5 mm stainless: the notebook has 1/8 in = 3.2 mm at .063 in; the usual V of 10 mm leaves 1.6 mm.
    for radius, level in ((1.6, WARN), (3.19, WARN), (1.59, FAIL)):
        (finding,) = said(l_part(inside_radius=radius, of=stock(1.5, "304", grain_deg=90.0)), "bend-radius")
        assert finding.level is level and finding.required == pytest.approx(0.126 * 25.4, abs=1e-4)
        assert ("bend a strip of this sheet first" in finding.remedy) is (level is WARN)
        assert "design notebook" in finding.source and "no standard" in finding.source
        # The next V whose natural radius is no smaller.
        assert "a V of 20 mm leaves 3.3 mm" in finding.remedy
    (along,) = said(l_part(inside_radius=1.6, of=stock(1.5, "304", grain_deg=0.0)), "bend-radius")
    assert "design notebook" in along.source and "more along the rolling direction: common practice" in along.source
    # What AC 43.13-1B prints across fails, what is only added along the rolling direction warns.
    for radius, level in ((5.99, FAIL), (6.01, WARN)):
        assert levels(l_part(inside_radius=radius, of=stock(2.0, "6061-T6", grain_deg=0.0)), "bend-radius") == [level]


def test_a_radius_from_memory_tells_its_doubt() -> None:
    (finding,) = said(l_part(inside_radius=1.0, of=stock(2.0, "5083-H116", grain_deg=90.0)), "bend-radius")
    assert finding.level is FAIL and "(from memory): look it up before you rely on it" in finding.source


def test_a_failed_radius_prints_a_waiver_that_can_be_pasted() -> None:
    findings = said(two_bends(0.0), "bend-radius")
    lines = finding_lines(findings)
    start = lines.index(" " * 10 + "[[waivers]]")
    assert tomllib.loads("\n".join(lines[start : start + 4])) == {
        "waivers": [
            {
                "rule": "bend-radius",
                "subject": "upper",
                "reason": "a strip of this sheet bent over this radius did not crack",
            }
        ]
    }
    assert "[[waivers]]" not in "\n".join(finding_lines([replace(f, level=WARN) for f in findings]))
    assert "[[waivers]]" not in "\n".join(finding_lines([replace(f, waived="tried") for f in findings]))


def two_bends(grain_deg: float | None, turned_deg: float = 0.0) -> Part:
    """4 mm S235 with a bend on the upper and on the right edge, 5.5 mm inside; the first panel turned as a whole."""
    by = Placement.turned(turned_deg)
    upper, right = Line(Point(0, 80), Point(60, 80)), Line(Point(80, 60), Point(80, 0))
    own = Line(Point(0, 0), Point(60, 0))
    bends = [
        Bend(name, "base", name, line.moved(by), own, 90.0, Way.UP, 5.5)
        for name, line in (("upper", upper), ("right", Line(right.end, right.start).reversed()))
    ]
    leg = box_contour(0, 0, 60, 30)
    base = chain((0, 0), (80, 0), (80, 60), (60, 60), (60, 80), (0, 80)).moved(by)
    panels = (Panel("base", base), Panel("upper", leg), Panel("right", leg))
    return Part("two", "Two bends", stock(4.0, grain_deg=grain_deg), panels, tuple(bends), "EN 1993-1-8", 1.0)


@pytest.mark.parametrize(
    ("grain", "turned", "suffers"),
    [
        (0.0, 0.0, {"upper"}),
        (90.0, 0.0, {"right"}),
        (0.0, 90.0, {"right"}),
        (90.0, 90.0, {"upper"}),
        (180.0, 0.0, {"upper"}),
        (45.0, 0.0, {"upper", "right"}),
        (44.9, 0.0, {"upper"}),
        (45.1, 0.0, {"right"}),
        (-30.0, 0.0, {"upper"}),
        (None, 0.0, {"upper", "right"}),
    ],
)
def test_turning_part_or_grain_moves_the_finding_to_the_other_bend(
    grain: float | None, turned: float, suffers: set[str]
) -> None:
    findings = said(two_bends(grain, turned), "bend-radius")
    assert {f.subject for f in findings} == suffers


def test_turning_the_part_on_the_sheet_is_offered_where_it_helps() -> None:
    (finding,) = said(two_bends(0.0), "bend-radius")
    assert "turn the part on the sheet" in finding.remedy
    too_sharp = l_part(inside_radius=1.0, of=stock(4.0, grain_deg=0.0))
    assert "turn the part" not in said(too_sharp, "bend-radius")[0].remedy


def test_thickness_that_the_table_does_not_hold_warns() -> None:
    part = l_part(inside_radius=80, base=300, leg=300, of=stock(25.0))
    assert levels(part, "bend-radius") == [WARN]


def test_unknown_grain_is_noted_only_where_it_matters() -> None:
    assert levels(two_bends(None), "grain-unknown") == [NOTE]
    assert levels(two_bends(0.0), "grain-unknown") == []
    # 3 mm S235 needs 3 mm both ways.
    assert levels(l_part(), "grain-unknown") == []


# -- hole-bend, hole-in-bend, mark-in-bend


def in_leg(hole: Hole, die: float | None = None) -> Part:
    part = l_part(width=120, leg=80, base=80, leg_holes=[hole])
    return replace(part, bends=tuple(replace(b, die_mm=die) for b in part.bends))


@pytest.mark.parametrize(("off", "expected"), [(-0.01, [FAIL]), (0.0, []), (0.01, [])])
def test_distance_from_a_bend_by_kind_of_hole(off: float, expected: list[Level]) -> None:
    # 3 mm metal. Round or pointing at the bend 1 1/2 t; edge along the bend 2 t to 1 in, 2 1/2 t to 2 in, 3 t beyond.
    assert levels(in_leg(round_hole("h", 60, 4.5 + 4.5 + off, 9)), "hole-bend") == expected
    assert levels(in_leg(slot("s", 60, 10 + 4.5 + off, 9, 20, 90)), "hole-bend") == expected
    assert levels(in_leg(slot("s", 60, 4.5 + 6 + off, 9, 25, 0)), "hole-bend") == expected
    assert levels(in_leg(slot("s", 60, 4.5 + 7.5 + off, 9, 50, 0)), "hole-bend") == expected
    assert levels(in_leg(slot("s", 60, 4.5 + 9 + off, 9, 51, 0)), "hole-bend") == expected
    assert levels(in_leg(opening("o", box_contour(20, 9 + off, 80, 40))), "hole-bend") == expected


@pytest.mark.parametrize(("length", "per_t"), [(25.4, 2.0), (25.41, 2.5), (50.8, 2.5), (50.81, 3.0)])
def test_length_along_the_bend_that_changes_the_distance(length: float, per_t: float) -> None:
    # 1 in and 2 in, see above.
    for off, expected in [(-0.01, [FAIL]), (0.0, [])]:
        assert levels(in_leg(slot("s", 60, 4.5 + 3 * per_t + off, 9, length, 0)), "hole-bend") == expected


def test_parent_and_child_are_both_judged_on_their_own_tangent_line() -> None:
    for off, expected in [(-0.01, [FAIL]), (0.0, [])]:
        part = l_part(base_holes=[round_hole("h", 20, 50 - 9 - off, 9)], way=Way.DOWN, turn_deg=60)
        found = said(part, "hole-bend")
        assert [f.level for f in found] == expected
        assert all(f.measured == pytest.approx(4.49) for f in found)


def test_larger_die_reaches_the_hole() -> None:
    # Hole edge 10 mm from the tangent: between half of V 16 and half of V 25.
    hole = round_hole("h", 60, 14.5, 9)
    assert levels(in_leg(hole), "hole-bend") == []
    assert levels(in_leg(hole, 16.0), "hole-bend") == []
    (finding,) = said(in_leg(hole, 25.0), "hole-bend")
    assert (finding.level, finding.required) == (WARN, 12.5)
    for off, expected in [(-0.01, [WARN]), (0.0, [])]:
        assert levels(in_leg(round_hole("h", 60, 4.5 + 12.5 + off, 9), 25.0), "hole-bend") == expected


@pytest.mark.parametrize("deep", [-0.01, 0.0, 0.01, 2.0])
def test_hole_that_reaches_into_the_bend(deep: float) -> None:
    for part in (
        l_part(leg_holes=[round_hole("h", 20, 4.5 - deep, 9)]),
        l_part(base_holes=[round_hole("h", 20, 45.5 + deep, 9)]),
        l_part(leg_holes=[opening("h", box_contour(10, -deep, 30, 12))]),
    ):
        findings = said(part, "hole-in-bend")
        assert [f.level for f in findings] == ([FAIL] if deep > 0 else [])
        assert all(f.measured == pytest.approx(-deep, abs=1e-9) for f in findings)
        # One fault, one finding.
        assert bool(levels(part, "hole-bend")) is (deep <= 0)


def test_hole_beside_the_end_of_a_partial_bend_does_not_reach_into_it() -> None:
    base = notched_base(100, 50, 30, 70, 6, 10)
    part = bend_on(base, Point(30, 50), Point(70, 50))
    beside = replace(part, panels=(replace(part.panels[0], holes=(round_hole("h", 12, 42, 9),)), part.panels[1]))
    assert levels(beside, "hole-in-bend") == []
    assert levels(beside, "hole-bend") == []


def marked(mark: Line, panel: int = 0) -> Part:
    part = l_part()
    panels = list(part.panels)
    panels[panel] = replace(panels[panel], marks=(mark,))
    return replace(part, panels=tuple(panels))


def test_marks_stop_at_the_tangent_line() -> None:
    for reach, expected in [(-0.01, []), (0.0, []), (0.01, [FAIL]), (30.0, [FAIL])]:
        findings = said(marked(Line(Point(20, 30), Point(20, 50 + reach))), "mark-in-bend")
        assert [f.level for f in findings] == expected
        assert all(f.measured == pytest.approx(min(reach, _ALLOWANCE)) for f in findings)
    assert levels(marked(Line(Point(5, 49), Point(35, 49))), "mark-in-bend") == []
    assert levels(marked(Line(Point(5, -0.01), Point(35, -0.01)), 1), "mark-in-bend") == [FAIL]
    assert levels(marked(Line(Point(-9, 52), Point(-1, 52))), "mark-in-bend") == []


# -- min-leg


def leg_findings(part: Part, least: float) -> list[tuple[str, float]]:
    found = said(with_leg_limit(part, least), "min-leg")
    assert {f.level for f in found} <= {FAIL}
    return [(f.subject, round(f.measured or 0.0, 9)) for f in found]


@pytest.mark.parametrize("off", [-0.1, -0.01, 0.0, 0.01, 0.1])
def test_leg_over_the_outside_against_the_die(off: float) -> None:
    # V 25 holds 17.5 mm. Square bend, R 3, t 3: outside size is the tangent length and 6 mm.
    short_child, short_parent = l_part(leg=11.5 + off), l_part(base=11.5 + off)
    assert leg_findings(short_child, 17.5) == ([("bend 1, leg", 17.5 + off)] if off < 0 else [])
    assert leg_findings(short_parent, 17.5) == ([("bend 1, base", 17.5 + off)] if off < 0 else [])


@pytest.mark.parametrize(("turn", "setback"), [(60.0, 6 * math.tan(math.radians(30))), (120.0, 6.0)])
def test_leg_of_other_turns(turn: float, setback: float) -> None:
    assert leg_findings(l_part(leg=20, turn_deg=turn), 20 + setback) == []
    assert leg_findings(l_part(leg=19.99, turn_deg=turn), 20 + setback) != []


def test_sloped_leg_counts_at_its_short_end_and_rounded_corners_do_not() -> None:
    # Far edge from 10 mm at the left to 30 mm at the right of a 40 mm bend; a tenth of the width is left out.
    sloped = bend_on(box_contour(0, 0, 40, 50), Point(0, 50), Point(40, 50), chain((0, 0), (40, 0), (40, 30), (0, 10)))
    assert leg_findings(sloped, 18.0 + 0.01) == [("bend 1, leg", 18.0)]
    assert leg_findings(sloped, 18.0) == []
    rounded, _ = round_corners(box_contour(0, 0, 40, 20), 4.0, Corner.OUTER, CornerFit.EXACT, lambda p: p.y > 10)
    part = bend_on(box_contour(0, 0, 40, 50), Point(0, 50), Point(40, 50), rounded)
    assert leg_findings(part, 26.0) == []
    assert leg_findings(part, 26.01) == [("bend 1, leg", 26.0)]


def test_notch_in_the_leg_counts() -> None:
    leg = chain((0, 0), (40, 0), (40, 30), (25, 30), (25, 8), (15, 8), (15, 30), (0, 30))
    part = bend_on(box_contour(0, 0, 40, 50), Point(0, 50), Point(40, 50), leg)
    assert leg_findings(part, 14.01) == [("bend 1, leg", 14.0)]


def test_without_declared_tooling_the_usual_die_only_warns() -> None:
    # 3 mm metal: 8 x 3 = 24, next V of the chart 25, which holds 17.5 mm.
    assert levels(l_part(leg=11.49), "min-leg") == [WARN]
    assert levels(l_part(leg=11.5), "min-leg") == []


# -- relief


def partial(relief: float, depth: float, turned: float = 0.0) -> Part:
    """A 40 mm bend in the middle of a 100 mm edge."""
    by = Placement.turned(turned, Point(7.3, -2.1))
    base = notched_base(100, 50, 30, 70, relief, depth).moved(by)
    return bend_on(base, by.point(Point(30, 50)), by.point(Point(70, 50)))


def test_bend_that_ends_inside_the_outline_needs_a_relief() -> None:
    bare = bend_on(box_contour(0, 0, 100, 50), Point(30, 50), Point(70, 50))
    findings = said(bare, "relief")
    assert [(f.level, f.subject) for f in findings] == [(FAIL, "bend 1, left end"), (FAIL, "bend 1, right end")]
    one_side = bend_on(box_contour(0, 0, 100, 50), Point(0, 50), Point(70, 50))
    assert [f.subject for f in said(one_side, "relief")] == ["bend 1, right end"]
    assert levels(l_part(), "relief") == []


@settings(max_examples=40)
@given(st.floats(3, 8), st.floats(0.05, 4), st.floats(0, 360))
def test_relief_passes_the_tangent_line_far_enough(relief: float, depth: float, turned: float) -> None:
    findings = said(partial(relief, depth, turned), "relief")
    # FAA-H-8083-31: at least 1/32 in past the tangent line.
    assert [f.level for f in findings] == ([WARN, WARN] if depth < 25.4 / 32 - 1e-6 else [])
    assert all(f.measured == pytest.approx(depth, abs=1e-6) for f in findings)


def test_relief_on_its_limit() -> None:
    least = 25.4 / 32
    assert levels(partial(4, least - 0.01), "relief") == [WARN, WARN]
    assert levels(partial(4, least), "relief") == []


def test_child_wider_than_its_bend_needs_a_relief_too() -> None:
    wide = chain((0, 0), (40, 0), (40, 0.5), (50, 0.5), (50, 30), (-10, 30), (-10, 1.0), (0, 1.0))
    part = bend_on(box_contour(0, 0, 40, 50), Point(0, 50), Point(40, 50), wide)
    found = [(f.level, round(f.measured or 0.0, 6)) for f in said(part, "relief")]
    assert found == [(WARN, 0.5)]
    flush = chain((0, 0), (40, 0), (50, 0), (50, 30), (-10, 30), (-10, 0))
    part = bend_on(box_contour(0, 0, 40, 50), Point(0, 50), Point(40, 50), flush)
    assert levels(part, "relief") == [FAIL, FAIL]


def test_metal_beside_the_strip_itself_fails() -> None:
    """The parent goes on past the tangent line beside the bend, without a cut between."""
    base = chain((0, 0), (100, 0), (100, 70), (70, 70), (70, 50), (0, 50))
    part = bend_on(base, Point(30, 50), Point(70, 50))
    found = said(part, "relief")
    assert [f.level for f in found] == [FAIL, FAIL]
    assert all(f.measured == pytest.approx(0.0, abs=1e-9) for f in found)


@pytest.mark.parametrize(("slope", "expected"), [(14.0, [WARN, WARN]), (16.0, []), (45.0, []), (89.0, [])])
def test_sides_that_slope_away_from_the_bend_need_no_relief(slope: float, expected: list[Level]) -> None:
    drop = 20 * math.tan(math.radians(slope))
    base = chain((0, -2000), (80, -2000), (80, 50 - drop), (60, 50), (20, 50), (0, 50 - drop))
    assert levels(bend_on(base, Point(20, 50), Point(60, 50)), "relief") == expected


@pytest.mark.parametrize(("radius", "expected"), [(0.7, [WARN]), (0.85, []), (2.6, [])])
def test_round_relief_counts_at_its_depth(radius: float, expected: list[Level]) -> None:
    """A quarter round into the parent, its wall square to the tangent line at the bend's end."""
    arc = Arc.make(Point(60, 50), Point(60 + radius, 50 - radius), Point(60 + radius, 50), radius, 1.0)
    lines = [Line(arc.end, Point(100, 50 - radius)), Line(Point(100, 50 - radius), Point(100, 0))]
    lines += [Line(Point(100, 0), Point(20, 0)), Line(Point(20, 0), Point(20, 50)), Line(Point(20, 50), Point(60, 50))]
    base = Contour((arc, *lines)).anticlockwise()
    assert levels(bend_on(base, Point(20, 50), Point(60, 50)), "relief") == expected


def test_all_bend_rules_are_silent_about_a_sound_part() -> None:
    rules = ("bend-radius", "hole-bend", "hole-in-bend", "mark-in-bend", "min-leg", "relief")
    part = l_part(of=stock(grain_deg=90.0), base_holes=[round_hole("h", 20, 25, 9, "M8")])
    flattened(part)
    assert [f for rule in rules for f in said(part, rule)] == []
