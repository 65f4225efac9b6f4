"""Processes, dies, edge distances and tolerances against the printed standards."""

from __future__ import annotations

import itertools

import pytest

from bracketgen.standards.deviations import (
    angle_tolerance,
    cut_classes,
    cut_tolerance,
    general_classes,
    general_tolerance,
)
from bracketgen.standards.fasteners import edge_rule, edge_rule_ids
from bracketgen.standards.machines import die, dies, process, process_ids, usual_die
from bracketgen.standards.table import LookupFault


@pytest.mark.parametrize("process_id", process_ids())
def test_process_limits_grow_with_thickness(process_id: str) -> None:
    one = process(process_id)
    for least in (one.minimum_hole_mm, one.minimum_slot_mm, one.minimum_web_mm):
        sizes = [least(t / 2) for t in range(1, 25)]
        assert sizes[0] > 0
        assert all(a <= b for a, b in itertools.pairwise(sizes))
    assert one.how == "common practice"
    assert one.sheet_mm == (3000.0, 1500.0)


def test_hot_cut_edges() -> None:
    assert {one for one in process_ids() if process(one).thermal} == {"laser", "plasma"}


def test_scope_of_iso_9013() -> None:
    # ISO 9013 scope: plasma 0.5 to 150 mm, laser 0.5 to 32 mm.
    assert process("laser").thickness_mm == (0.5, 32.0)
    assert process("plasma").thickness_mm == (0.5, 150.0)
    assert process("hand").thickness_mm is None


@pytest.mark.parametrize("process_id", process_ids())
def test_every_process_has_a_tolerance_class_that_exists(process_id: str) -> None:
    one = process(process_id)
    known = {"ISO 9013": cut_classes(), "ISO 2768-1": general_classes()}
    assert one.tolerance_class in known[one.tolerance_table]


def test_a_plasma_hole_is_never_allowed_smaller_than_a_laser_one() -> None:
    for t in range(1, 20):
        assert process("plasma").minimum_hole_mm(t) > process("laser").minimum_hole_mm(t)


def test_unknown_process_names_the_nearest() -> None:
    with pytest.raises(LookupFault) as caught:
        process("lazer")
    assert caught.value.nearest == "laser"


@pytest.mark.parametrize(
    ("opening", "flange", "radius"), [(6, 4, 1), (12, 8.5, 2), (16, 11, 2.6), (40, 28, 6.5), (160, 113, 26)]
)
def test_dies(opening: float, flange: float, radius: float) -> None:
    one = die(opening)
    assert (one.minimum_flange_mm, one.natural_radius_mm) == (flange, radius)


def test_dies_follow_the_geometry_of_the_v() -> None:
    # A leg at 45 degrees must reach past half the opening: b > V / 2 x sqrt 2; and the natural radius is
    # 0.156 V in a metalworking textbook (t = .125 in, V = 8 t, radius .156 in).
    for one in dies():
        assert one.minimum_flange_mm > 0.66 * one.opening_mm
        assert one.natural_radius_mm == pytest.approx(0.156 * one.opening_mm, abs=0.3 + 0.01 * one.opening_mm)
    for a, b in itertools.pairwise(dies()):
        assert a.opening_mm < b.opening_mm
        assert a.minimum_flange_mm < b.minimum_flange_mm
        assert a.natural_radius_mm < b.natural_radius_mm


@pytest.mark.parametrize(("thickness", "opening"), [(1, 6), (2, 12), (2.5, 16), (3, 25), (5, 40), (10, 100), (13, 160)])
def test_usual_die(thickness: float, opening: float) -> None:
    # 6 t to 2.5 mm, 8 t to 8 mm, 10 t to 12 mm, 12 t over, rounded up to the next die.
    assert usual_die(thickness).opening_mm == opening


@pytest.mark.parametrize("thickness", [0.0, -1.0, 13.5, 14.5])
def test_thickness_without_a_die_is_said(thickness: float) -> None:
    with pytest.raises(LookupFault, match="thickness"):
        usual_die(thickness)


def test_unknown_die_names_the_nearest() -> None:
    with pytest.raises(LookupFault) as caught:
        die(15)
    assert caught.value.nearest in ("14", "16")


def test_edge_distance_eurocode() -> None:
    # EN 1993-1-8 table 3.3 with the holes of an M20: d0 22: 26.4, 48.4, 52.8.
    rule = edge_rule("EN 1993-1-8")
    assert rule.edge_mm(22, 20) == pytest.approx(26.4)
    assert rule.pitch_mm(22, 20) == pytest.approx(48.4)
    assert rule.row_pitch_mm(22, 20) == pytest.approx(52.8)
    assert rule.maximum_edge_mm(5) is None


@pytest.mark.parametrize(
    ("bolt_mm", "edge_mm"),
    # AISC 360-16 tables J3.4M (M36 is 46, not the 48 of one help page) and J3.4 (1/2 -> 3/4, 1-1/4 -> 1-5/8).
    [(16, 22), (20, 26), (22, 28), (24, 30), (27, 34), (30, 38), (36, 46), (12.7, 19.05), (31.75, 41.275)],
)
def test_edge_distance_aisc_printed(bolt_mm: float, edge_mm: float) -> None:
    assert edge_rule("AISC 360-16").edge_mm(bolt_mm + 2, bolt_mm) == pytest.approx(edge_mm)


def test_edge_distance_aisc_beyond_the_print() -> None:
    rule = edge_rule("AISC 360-16")
    assert rule.edge_mm(45, 42) == pytest.approx(1.25 * 42)
    with pytest.raises(LookupFault, match=r"12\.7 mm up"):
        rule.edge_mm(9, 8)
    # Between two printed bolts the larger value of the neighbours.
    assert rule.edge_mm(20, 18) == pytest.approx(25.4)


def test_spacing_and_greatest_edge_distance_aisc() -> None:
    # AISC 360 J3.3: 2 2/3 d; J3.5: 12 t but not over 150 mm.
    rule = edge_rule("AISC 360-16")
    assert rule.pitch_mm(18, 16) == pytest.approx(16 * 8 / 3, abs=1e-4)
    assert rule.maximum_edge_mm(5) == 60
    assert rule.maximum_edge_mm(20) == 150


@pytest.mark.parametrize(("bolt_mm", "edge_mm"), [(16, 28), (20, 34), (24, 42), (36, 64)])
def test_sheared_edges_ask_for_more(bolt_mm: float, edge_mm: float) -> None:
    # AISC 360-05 in Brockenbrough, table 5.13, p. 5.48.
    assert edge_rule("AISC 360-05 sheared").edge_mm(bolt_mm + 2, bolt_mm) == edge_mm


def test_edge_distance_aviation() -> None:
    # AC 43.13-1B ch. 4: 2 D (2.5 D countersunk), pitch 3 D.
    assert edge_rule("aviation 2D").edge_mm(5, 4.8) == pytest.approx(9.6)
    assert edge_rule("aviation 2.5D countersunk").edge_mm(5, 4.8) == pytest.approx(12.0)
    assert edge_rule("aviation 2D").pitch_mm(5, 4.8) == pytest.approx(14.4)


@pytest.mark.parametrize("rule_id", edge_rule_ids())
def test_bigger_bolts_stay_further_away(rule_id: str) -> None:
    rule = edge_rule(rule_id)
    bolts = (16, 20, 24, 30, 36)
    for pitch in (rule.edge_mm, rule.pitch_mm, rule.row_pitch_mm):
        lengths = [pitch(bolt + 2, bolt) for bolt in bolts]
        assert all(a < b for a, b in itertools.pairwise(lengths))


def test_unknown_edge_rule_names_the_nearest() -> None:
    with pytest.raises(LookupFault) as caught:
        edge_rule("EN 1993-1-9")
    assert caught.value.nearest == "EN 1993-1-8"


@pytest.mark.parametrize(
    ("size", "thickness", "tolerance_class", "deviation"),
    # ISO 9013 limit deviations.
    [
        (2, 1, "1", 0.075),
        (20, 3, "1", 0.20),
        (100, 3, "1", 0.25),
        (300, 6, "1", 0.30),
        (500, 12, "1", 0.55),
        (20, 3, "2", 0.7),
        (100, 6, "2", 0.9),
        (999, 10, "2", 1.5),
        # On a limit the size belongs to the range above, the thickness to the band below.
        (10, 3.15, "1", 0.20),
    ],
)
def test_cut_tolerance(size: float, thickness: float, tolerance_class: str, deviation: float) -> None:
    assert cut_tolerance(size, thickness, tolerance_class).plus_minus == deviation


@pytest.mark.parametrize(
    ("size", "thickness", "tolerance_class"),
    [(1000, 3, "1"), (2, 8, "1"), (20, 15.5, "1"), (20, 12, "2"), (20, 0, "1"), (0, 3, "1"), (20, 3, "3")],
)
def test_cut_tolerance_outside_is_said(size: float, thickness: float, tolerance_class: str) -> None:
    with pytest.raises(LookupFault):
        cut_tolerance(size, thickness, tolerance_class)


@pytest.mark.parametrize(
    ("size", "tolerance_class", "deviation"),
    # ISO 2768-1 table 1; c at 0.5-3 mm is 0.2 (one scan prints 0.15).
    [
        (0.5, "c", 0.2),
        (3, "c", 0.2),
        (3.1, "c", 0.3),
        (30, "m", 0.2),
        (120, "m", 0.3),
        (121, "m", 0.5),
        (400, "f", 0.2),
        (4000, "v", 8.0),
    ],
)
def test_general_tolerance(size: float, tolerance_class: str, deviation: float) -> None:
    assert general_tolerance(size, tolerance_class).plus_minus == deviation


@pytest.mark.parametrize(("size", "tolerance_class"), [(0.4, "m"), (2, "v"), (2001, "f"), (4001, "m"), (10, "x")])
def test_general_tolerance_outside_is_said(size: float, tolerance_class: str) -> None:
    with pytest.raises(LookupFault):
        general_tolerance(size, tolerance_class)


def test_finer_classes_are_never_looser() -> None:
    for size in (5, 20, 100, 300, 900, 1500):
        wide = [general_tolerance(size, one).plus_minus for one in general_classes()]
        assert wide == sorted(wide)
        assert len(set(wide)) == 4 or size == 5


def test_angle_tolerance_says_it_is_from_memory() -> None:
    found = angle_tolerance(50, "m")
    assert (found.plus_minus, found.how) == (0.5, "memory")
    assert angle_tolerance(401, "c").plus_minus == pytest.approx(1 / 6, abs=1e-6)
    with pytest.raises(LookupFault):
        angle_tolerance(0, "m")
