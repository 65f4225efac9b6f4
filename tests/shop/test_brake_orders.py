"""Bend orders: sections that a pencil decides, every printed order made again by a second implementation."""

from __future__ import annotations

import itertools
import random
from collections.abc import Sequence
from dataclasses import replace

import pytest
from brake_sections import SECTIONS, UP, Section, corrugated, straight_only
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from preview_parts import box_tray, worked
from second_replay import (
    LeafTools,
    PressTools,
    PrintedStep,
    StripToBend,
    gauged_mm,
    printed_order,
    replay_leaf,
    replay_press,
)
from shapely.geometry import Polygon

from bracketgen.commands.brake import brake_lines
from bracketgen.part.part import Way
from bracketgen.shop.brake.brakes import Gauge, LeafBrake, PressBrake, usual_leaf, usual_press
from bracketgen.shop.brake.leaf import LeafSetup
from bracketgen.shop.brake.metal import Why
from bracketgen.shop.brake.plan import BrakePlan, plan_brake
from bracketgen.shop.brake.press import PressSetup

BY_NAME = {s.name: s for s in SECTIONS}
GAUGE = Gauge()


def planned(section: Section) -> tuple[BrakePlan, list[PrintedStep]]:
    plan = plan_brake(section.flat(), section.brake())
    return plan, printed_order("\n".join(brake_lines(plan)))


def press_tools(plan: BrakePlan) -> PressTools:
    """The tools of the first step, by their outlines as a person measured them."""
    setup = plan.steps[0].setup
    assert isinstance(setup, PressSetup) and all(m.setup.name == setup.name for m in plan.steps)
    return PressTools(
        *(Polygon(ring) for ring in (setup.punch.outline, setup.brake.ram, setup.die.outline, setup.brake.bed)),
        punch_height_mm=setup.punch.height_mm,
        die_height_mm=setup.die.height_mm,
    )


def leaf_tools(plan: BrakePlan) -> LeafTools:
    setup = plan.steps[0].setup
    assert isinstance(setup, LeafSetup) and all(m.setup.name == setup.name for m in plan.steps)
    nose, bed, leaf = (Polygon(r) for r in (setup.nose.outline, setup.brake.bed, setup.brake.leaf))
    return LeafTools(nose, setup.nose.radius_mm, bed, leaf)


def replayed(plan: BrakePlan, strip: StripToBend, order: Sequence[PrintedStep]) -> list[str]:
    if isinstance(plan.brake, LeafBrake):
        return replay_leaf(strip, order, leaf_tools(plan))
    return replay_press(strip, order, press_tools(plan))


@pytest.mark.parametrize("section", SECTIONS, ids=lambda s: s.name)
def test_what_the_pencil_says(section: Section) -> None:
    plan, _ = planned(section)
    assert plan.works is section.makeable, section.why
    assert not plan.gave_up


@pytest.mark.parametrize("section", [s for s in SECTIONS if not s.makeable], ids=lambda s: s.name)
def test_what_cannot_be_made_names_the_pair_that_the_pencil_finds(section: Section) -> None:
    plan, _ = planned(section)
    assert plan.stopped and section.meets
    for _, obstacle in plan.stopped:
        pair = {obstacle.metal.removeprefix("panel ").strip("'"), obstacle.other.removeprefix("panel ").strip("'")}
        assert any(metal in pair and any(o.startswith(other) for o in pair) for metal, other in section.meets), obstacle
        assert obstacle.metal in obstacle.words and obstacle.other in obstacle.words
        assert obstacle.words in " ".join(" ".join(brake_lines(plan)).split())


def test_there_are_sections_enough_on_either_brake() -> None:
    for kind in (PressBrake, LeafBrake):
        verdicts = [s.makeable for s in SECTIONS if isinstance(s.brake(), kind)]
        assert len(verdicts) >= 11 and min(sum(verdicts), verdicts.count(False)) >= 5


def test_a_part_that_meets_itself_is_told_so() -> None:
    (_, obstacle), *_ = planned(BY_NAME["leaf hook"])[0].stopped
    assert obstacle.why is Why.MEETS_ITSELF


def test_what_is_met_first_is_named() -> None:
    """The leg that hangs 17 mm out is in the bed or the leaf as soon as the sheet is laid down."""
    plan, _ = planned(BY_NAME["leaf sharp z"])
    assert [o.turn_deg for _, o in plan.stopped] == [0.0]


@pytest.mark.parametrize("section", [s for s in SECTIONS if s.makeable], ids=lambda s: s.name)
def test_the_printed_order_never_intersects(section: Section) -> None:
    plan, order = planned(section)
    assert len(order) == len(section.bends)
    assert replayed(plan, section.strip(), order) == []


def test_the_replay_finds_what_is_wrong() -> None:
    """A replay that can't fail proves nothing: the gooseneck's channel hits a straight punch."""
    section = BY_NAME["gooseneck channel"]
    plan, order = planned(section)
    straight = straight_only().punches[0]
    tools = replace(press_tools(plan), punch=Polygon(straight.outline), punch_height_mm=straight.height_mm)
    found = replay_press(section.strip(), order, tools)
    assert found and all("in punch" in f or "in ram" in f for f in found)
    assert {int(f.split()[1]) for f in found} == {order[-1].bend + 1}


def test_the_replay_finds_a_wrong_order() -> None:
    """Lips last: the lip would have to be bent with the leg already standing in the punch."""
    section = BY_NAME["hat"]
    plan, order = planned(section)
    backwards = [order[2], order[3], order[0], order[1]]
    assert replay_press(section.strip(), backwards, press_tools(plan))


def test_the_replay_of_a_leaf_finds_what_is_wrong() -> None:
    section = BY_NAME["leaf channel"]
    plan, order = planned(section)
    shallow = Section("x", (25.0, 60.0, 25.0), section.bends, usual_leaf, False, "").strip()
    assert replay_leaf(section.strip(), order, leaf_tools(plan)) == []
    assert replay_leaf(shallow, order, leaf_tools(plan))


def test_the_replay_of_a_leaf_finds_a_part_that_meets_itself() -> None:
    """The hook in the order that gets farthest, then its middle bend; and the same with a lip that stays under it."""
    hook, tools = BY_NAME["leaf hook"], leaf_tools(planned(BY_NAME["leaf channel"])[0])
    steps = [PrintedStep(b, True, held, None, 91.0) for b, held in ((0, True), (2, False), (1, False))]
    found = replay_leaf(hook.strip(), steps, tools)
    assert found and all("bend 2" in f and "in itself" in f for f in found)
    low = replace(hook, legs=(100.0, *hook.legs[1:]))
    assert replay_leaf(low.strip(), steps, tools) == []


@pytest.mark.parametrize("section", [s for s in SECTIONS if s.makeable], ids=lambda s: s.name)
def test_the_gauge_distance_is_that_of_the_part_as_it_lies(section: Section) -> None:
    plan, order = planned(section)
    if isinstance(plan.brake, LeafBrake):
        pytest.skip("a leaf brake has no back gauge here")
    done: list[int] = []
    for step, made in zip(order, plan.steps, strict=True):
        assert made.gauging is not None and made.gauging.distance_mm is not None
        measured = gauged_mm(section.strip(), step, done, GAUGE.below_mm, GAUGE.above_mm)
        assert measured == pytest.approx(made.gauging.distance_mm, abs=0.02)
        assert step.distance_mm == pytest.approx(made.gauging.distance_mm, abs=0.051)
        done.append(step.bend)


def test_sight_line_of_a_leaf() -> None:
    """FAA-H-8083-31: one radius of the nose before the tangent line under the nose. Leg 60, nose R2: 62 mm."""
    plan, _ = planned(Section("angle", (60.0, 30.0), ((90.0, UP),), usual_leaf, True, "", radius=2.0))
    made = plan.steps[0]
    leg = 60.0 if made.held_panel == "leg 0" else 30.0
    assert made.scribe.tangent_mm == pytest.approx(leg)
    assert made.scribe.sight_mm == pytest.approx(leg + 2.0)


def test_lips_come_before_legs() -> None:
    """Bent first, the legs would stand where the lip's punch must go."""
    _, order = planned(BY_NAME["lipped channel"])
    place = {step.bend: n for n, step in enumerate(order)}
    assert place[0] < place[1] and place[3] < place[2]


def test_faces_follow_the_way() -> None:
    _, order = planned(BY_NAME["z"])
    assert {s.bend: s.described_face_up for s in order} == {0: True, 1: False}


def test_six_bends_can_be_decided_either_way() -> None:
    """How long that takes is a benchmark: tests/bench."""
    hopeless = Section("spiral", (30.0,) * 7, ((90.0, UP),) * 6, usual_press, False, "").flat()
    assert plan_brake(corrugated(6), usual_press()).works
    assert not plan_brake(hopeless, usual_press()).works


legs = st.floats(14.0, 90.0)
bends = st.lists(st.tuples(st.sampled_from([30.0, 45.0, 90.0, 90.0, 100.0]), st.sampled_from(list(Way))),
                 min_size=1, max_size=4)  # fmt: skip


@pytest.mark.sweep
@settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
@given(turns=bends, lengths=st.lists(legs, min_size=5, max_size=5))
def test_any_order_that_is_printed_can_be_made_again(turns: list[tuple[float, Way]], lengths: list[float]) -> None:
    lengths = [round(v, 1) for v in lengths[: len(turns) + 1]]
    section = Section("any", tuple(lengths), tuple(turns), usual_press, True, "")
    plan, order = planned(section)
    assume(plan.works and len({m.setup.name for m in plan.steps}) == 1)
    assert replayed(plan, section.strip(), order) == []


@settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
@given(turns=bends, lengths=st.lists(legs, min_size=5, max_size=5))
def test_the_same_on_a_leaf_brake(turns: list[tuple[float, Way]], lengths: list[float]) -> None:
    section = Section("any", tuple(round(v, 1) for v in lengths[: len(turns) + 1]), tuple(turns), usual_leaf, True, "")
    plan, order = planned(section)
    assume(plan.works and len({m.setup.name for m in plan.steps}) == 1)
    assert replayed(plan, section.strip(), order) == []


@pytest.mark.sweep
def test_what_is_refused_can_be_made_in_no_order() -> None:
    """Every order of random sections tried by the second implementation, on tools alike to either side."""
    die = next(d for d in straight_only().dies if d.opening_mm == 16)
    brake = replace(straight_only(), dies=(die,), clearance_mm=0.2)
    punch, rng, refused = brake.punches[0], random.Random(3), 0
    rings = (punch.outline, brake.ram, die.outline, brake.bed)
    tools = PressTools(*(Polygon(ring) for ring in rings), punch.height_mm, die.height_mm)
    for _ in range(25):
        count = rng.randint(2, 3)
        turns = tuple((rng.choice([45.0, 90.0, 90.0]), rng.choice(list(Way))) for _ in range(count))
        lengths = tuple(round(rng.uniform(16.0, 100.0), 1) for _ in range(count + 1))
        section = Section("any", lengths, turns, lambda: brake, True, "")
        if planned(section)[0].works:
            continue
        refused += 1
        for order in itertools.permutations(range(count)):
            steps = [PrintedStep(b, turns[b][1] is UP, True, None, turns[b][0] + 0.9) for b in order]
            assert replay_press(section.strip(), steps, tools, step_deg=6.0), (lengths, turns, order)
    assert refused > 5


# -- trays, tools, loads


def test_a_tray_is_bent_with_short_tools_only() -> None:
    """Sectioned punches go between the standing walls; one whole punch hits them at the third wall."""
    flat, _ = worked(box_tray())
    sectioned = usual_press()
    whole = replace(sectioned, punches=tuple(replace(p, lengths_mm=(835.0,)) for p in sectioned.punches))
    assert plan_brake(flat, sectioned).works
    plan = plan_brake(flat, whole)
    assert not plan.works
    assert {o.why for _, o in plan.stopped} == {Why.MEETS_TOOL}
    assert all("punch" in o.other for _, o in plan.stopped)


def test_no_die_no_punch_no_force() -> None:
    flat = BY_NAME["angle"].flat()
    brake = usual_press()
    wide = replace(brake, dies=tuple(d for d in brake.dies if d.opening_mm > 30))
    blunt = replace(brake, punches=tuple(replace(p, radius_mm=6.0) for p in brake.punches))
    weak = replace(brake, capacity_kn=5.0)
    short = replace(brake, dies=tuple(replace(d, lengths_mm=(20.0,)) for d in brake.dies))
    for machine, why, word in ((wide, Why.NO_TOOL, "12 to 24 mm"), (blunt, Why.NO_TOOL, "R6"),
                               (weak, Why.TOO_HEAVY, "5 kN"), (short, Why.NO_TOOL, "60 mm")):  # fmt: skip
        plan = plan_brake(flat, machine)
        assert not plan.works
        (_, obstacle), *_ = plan.stopped
        assert obstacle.why is why and word in obstacle.words


def test_no_nose_is_told_apart_from_too_short_a_nose() -> None:
    flat = Section("angle", (60.0, 30.0), ((90.0, UP),), usual_leaf, True, "", thickness=1.0, radius=1.0).flat()
    brake = usual_leaf()
    round_ = replace(brake, noses=tuple(replace(n, radius_mm=6.0) for n in brake.noses))
    short = replace(brake, noses=tuple(replace(n, lengths_mm=(20.0,)) for n in brake.noses))
    for machine, word in ((round_, "as sharp as R1 "), (short, "for the 60 mm")):
        (_, obstacle), *_ = plan_brake(flat, machine).stopped
        assert obstacle.why is Why.NO_TOOL and word in obstacle.words


def test_a_thick_sheet_is_no_work_for_a_leaf_brake() -> None:
    """The moment goes as Rm t²: 2.5 mm at 450 MPa is 2.35 mm at 510 MPa (S235 at its strongest, EN 10025-2)."""
    flat = Section("angle", (60.0, 30.0), ((90.0, UP),), usual_leaf, False, "", thickness=2.4).flat()
    assert plan_brake(flat, usual_leaf()).stopped[0][1].why is Why.TOO_HEAVY
    flat = Section("angle", (60.0, 30.0), ((90.0, UP),), usual_leaf, True, "", thickness=2.3).flat()
    assert plan_brake(flat, usual_leaf()).works


def test_a_part_without_bends_needs_no_brake() -> None:
    flat = Section("strip", (60.0,), (), usual_press, True, "").flat()
    plan = plan_brake(flat, usual_press())
    assert plan.works and plan.steps == ()


def test_usual_brakes_are_two_kinds() -> None:
    assert isinstance(usual_press(), PressBrake) and isinstance(usual_leaf(), LeafBrake)
