"""Gaps at a site: limits to a tenth, what is stated and what nobody may assume, the move that mends."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from site_parts import PLATE, SITE, found, seen
from test_clearance_heat import CARRIED, CARRYING

from bracketgen.errors import InputFaults
from bracketgen.findings import Finding, Level
from bracketgen.geometry.contour import Circle, box_contour
from bracketgen.geometry.plane import Point
from bracketgen.geometry.space import Frame, Vector, length, minus, plus, scaled, unit
from bracketgen.standards.table import LookupFault
from bracketgen.standards.vehicle import required_gap
from bracketgen.vehicle.near.envelope import STILL, Box, Mine, Parting, StraightPath, least_gap, smallest_move
from bracketgen.vehicle.near.gap import gap
from bracketgen.vehicle.near.solids import Block, Capsule, Drum, Plate, Solid, Wall, pipe_solids, shifted


def line(matter: str, y: float, more: str = "", body: str = "chassis") -> str:
    """A pipe of 10 mm along x, its axis at y beside the plate's edge at y = -60, level with the plate's middle."""
    return f"""
[neighbours.line]
shape = "pipe"
matter = "{matter}"
body = "{body}"
points = [[-100, {y}, 1.5], [200, {y}, 1.5]]
diameter = 10
{more}
"""


def fails(place_text: str, rule: str = "gap", **more: str) -> list[Finding]:
    return [f for f in found(rule, seen(place_text, **more)) if f.level is Level.FAIL]


@pytest.mark.parametrize("matter", ["fuel", "oil", "brake", "exhaust", "coolant", "metal"])
def test_a_line_at_its_stated_gap_passes_and_a_tenth_nearer_fails(matter: str) -> None:
    extra = 'surface = 300\ngrows_from = "start"\nmetal = "430"\n' if matter == "exhaust" else ""
    # Edge at -60, radius 5, stated 12: the axis belongs at -77 or beyond. Hot the pipe is thicker by its growth.
    grown = 5 * 280 * 11.4e-6 if matter == "exhaust" else 0.0
    assert not fails(line(matter, -77.1 - grown, f"gap = 12\n{extra}"))
    (finding,) = fails(line(matter, -76.9, f"gap = 12\n{extra}"))
    assert finding.measured == pytest.approx(11.9 - grown, abs=0.001)
    assert finding.required == 12.0 and finding.subject == "part to line"


@pytest.mark.parametrize("matter", ["fuel", "oil", "brake", "exhaust"])
def test_a_gap_that_nobody_states_fails_for_what_must_not_be_guessed(matter: str) -> None:
    extra = 'surface = 300\ngrows_from = "start"\n' if matter == "exhaust" else ""
    (finding,) = fails(line(matter, -500.0, extra))
    assert finding.required is None and finding.measured is not None and finding.measured > 400
    assert "write gap = ..." in finding.remedy and "common practice, no source" in finding.remedy


def test_tables_decide_for_other_things() -> None:
    # AC 43.13-1B 11-115: 3/8 in from structure; edge -60, radius 5, so the axis at -74.525.
    assert not fails(line("wire", -74.6))
    (finding,) = fails(line("wire", -74.45))
    assert finding.required == pytest.approx(9.525) and "AC 43.13-1B" in finding.source


def test_every_pair_of_matters_is_in_the_table_once() -> None:
    matters = ["air", "brake", "coolant", "exhaust", "fuel", "live", "metal", "moving", "oil", "plastic", "rubber"]
    matters.append("wire")
    guessed = []
    for i, a in enumerate(matters):
        for b in matters[i:]:
            try:
                assert required_gap(a, b) == required_gap(b, a)
                assert required_gap(a, b).moving_mm >= required_gap(a, b).still_mm
            except LookupFault:
                guessed.append({a, b})
    assert all(pair & {"fuel", "oil", "brake", "exhaust"} for pair in guessed)


def test_a_live_terminal_keeps_a_dropped_spanner_away() -> None:
    """12 in, the figure of 33 CFR 183.420 (c) for metal beside a battery."""
    post = '[neighbours.post]\nshape = "cylinder"\nmatter = "live"\ndiameter = 18\n'
    post += "at = [40, {y}, -5]\nto = [40, {y}, 10]\n"
    assert not fails(post.format(y=-60 - 9 - 304.9))
    (finding,) = fails(post.format(y=-60 - 9 - 304.7))
    assert finding.required == pytest.approx(304.8) and "183.420" in finding.source
    assert not fails(post.format(y=-100) + "gap = 20\n")


# -- what moves


def box(y_face: float, body: str) -> str:
    return f"""
[neighbours.block]
shape = "box"
body = "{body}"
at = [40, {y_face - 20}, 0]
size = [200, 40, 200]
"""


def test_an_engine_moves_25_mm_unless_told_otherwise() -> None:
    """A gap of 10 mm: too little for a body that moves 25, enough for one that moves 5 (5 mm are then left)."""
    (usual,) = fails(box(-70.0, "engine"))
    assert usual.measured is not None and usual.measured <= 0.0
    assert not fails("[bodies.engine]\ntravel = [5, 5, 5]\n" + box(-70.0, "engine"))
    assert not fails(box(-70.0, "chassis"))
    (note,) = found("travel", seen(box(-200.0, "engine")))
    assert note.level is Level.NOTE and note.measured == 25.0 and "travel = [x, y, z]" in note.remedy
    assert not found("travel", seen("[bodies.engine]\ntravel = [5, 5, 5]\n" + box(-200.0, "engine")))


def test_travel_counts_to_a_tenth_in_its_own_direction() -> None:
    moving = "[bodies.engine]\ntravel = [40, 8, 40]\n"
    # 8 mm of travel across the gap and 5 mm that must be left.
    assert not fails(moving + box(-73.1, "engine"))
    (finding,) = fails(moving + box(-72.9, "engine"))
    assert finding.measured == pytest.approx(4.9)


def test_two_bodies_that_move_come_nearer_by_both_travels() -> None:
    bodies = "[bodies.engine]\ntravel = [5, 6, 7]\n[bodies.exhaust]\ntravel = [1, 2, 3]\n"
    site = SITE.replace("[faces.tabs]", '[faces.tabs]\nbody = "engine"')
    for at, size, across in (([-60, 0, 0], 60, 10), ([40, -100, 0], 60, 10), ([40, -20, 60], 60, 20.1)):
        text = f'[neighbours.block]\nshape = "box"\nbody = "exhaust"\nat = {at}\nsize = [{size}, {size}, {size}]\n'
        (pair,) = seen(bodies + text, site=site).pairs
        assert pair.travel.mm == (6.0, 8.0, 10.0)
        # Straight across each face: the gap less the sum of both travels along that axis.
        axis = next(i for i in range(3) if abs(pair.least.gap.here[i] - pair.least.gap.there[i]) > 1e-6)
        assert pair.gap_mm == pytest.approx(across - pair.travel.mm[axis], abs=1e-4)


def test_a_body_of_which_nothing_is_known_is_a_fault() -> None:
    with pytest.raises(InputFaults, match=r"truck.site.toml:\d+:8: nothing says how far the body 'cab' moves"):
        seen(box(-200.0, "cab"))


def test_a_thin_wall_in_the_way_is_not_jumped() -> None:
    """Travel of 25 carries a plate of 2 mm right through the edge and out on the other side."""
    sheet = '[neighbours.sheet]\nshape = "box"\nbody = "engine"\nat = [40, 30, 1.5]\nsize = [300, 2, 1]\n'
    (finding,) = fails("[bodies.engine]\ntravel = [0, 100, 0]\n" + sheet)
    assert finding.measured is not None and finding.measured <= 1e-6


@given(st.integers(0, 5000))
@example(829)  # nearly a slide: many short steps to where it is nearest
@settings(max_examples=25, deadline=None)
def test_the_least_gap_over_a_box_of_shifts_is_that_of_the_swollen_box(seed: int) -> None:
    """A box moved anywhere within travel fills a larger box: its gap to a drum by brute force over the drum."""
    rng = np.random.default_rng(seed)
    half, travel = rng.uniform(5, 30, 3), rng.uniform(0, 20, 3)
    a, b = (rng.uniform(-30, 30, 3) + np.array((0.0, 0.0, z)) for z in (90.0, 120.0))
    r = float(rng.uniform(2, 8))
    mine = Mine.of([("rod", Capsule(t3(a), t3(b), r))])
    least = least_gap(mine, [("", [Block(Frame(), t3(half))])], Box(t3(travel)))
    assert least is not None
    points = a + np.linspace(0, 1, 20001)[:, None] * (b - a)
    outside = np.maximum(np.abs(points) - (half + travel), 0.0)
    brute = float(np.sqrt((outside**2).sum(axis=1)).min()) - r
    if brute > 0.01:
        assert least.gap.mm == pytest.approx(brute, abs=1e-4)
    else:
        assert least.gap.mm <= 0.02


def t3(v: np.ndarray) -> Vector:
    return (float(v[0]), float(v[1]), float(v[2]))


def test_the_least_gap_along_a_path_by_closed_form() -> None:
    ball = Mine.of([("ball", Capsule((0.0, 0.0, 0.0), (0.0, 0.0, 0.0), 5.0))])
    least = least_gap(
        ball, [("", [Capsule((-40.0, 17.0, 0.0), (-40.0, 17.0, 0.0), 2.0)])], StraightPath((100.0, 0.0, 0.0))
    )
    assert least is not None
    assert least.gap.mm == pytest.approx(10.0, abs=1e-4)
    assert least.shift[0] == pytest.approx(40.0, abs=0.05)


# -- the smallest move


def test_the_smallest_move_from_a_pipe_is_square_to_it() -> None:
    (finding,) = fails(line("fuel", -70.0, "gap = 12"))
    # 5 mm of gap, 7 missing; the plate's edge runs along the pipe: straight away from it, +y.
    assert "by 7.1 mm along (0.00, 1.00, 0.00)" in finding.remedy
    pair = seen(line("fuel", -70.0, "gap = 12")).pairs[0]
    assert pair.move is not None and length(pair.move) == pytest.approx(7.0, abs=0.01)


@given(st.integers(0, 5000))
@settings(max_examples=20, deadline=None)
def test_after_the_move_the_gap_is_there_and_no_shorter_move_is(seed: int) -> None:
    rng = np.random.default_rng(seed)
    way = unit(t3(rng.normal(size=3)))
    rod = Capsule((-50.0, 0.0, 0.0), (50.0, 0.0, 0.0), 6.0)
    axis_free = unit((0.0, way[1], way[2])) if abs(way[0]) < 0.99 else (0.0, 1.0, 0.0)
    start = plus((float(rng.uniform(-30, 30)), 0.0, 0.0), axis_free, float(rng.uniform(11, 16)))
    ball = Capsule(start, plus(start, (1e-3, 0.0, 0.0)), 4.0)
    task = Parting(Mine.of([("ball", ball)]), [("", [rod])], Box((0.0, 0.0, 0.0)), 9.0)
    move = smallest_move(task)
    assert move is not None
    # Distance of the axes less both radii is the gap; the shortest way is straight away from the rod.
    gap = math.hypot(start[1], start[2]) - 10.0
    assert length(move) == pytest.approx(9.0 - gap, abs=2e-3)
    assert task.missing(move)[0] <= 1e-3


DRILLED = Plate(Frame(), box_contour(-50, -30, 50, 30), (Circle(Point(10, 0), 6.0),), -5.0, 0.0)

SLANTED = math.sqrt(0.5)
TURNED = Block(Frame((15, 15, 0), (SLANTED, SLANTED, 0), (-SLANTED, SLANTED, 0)), (10, 10, 10))

#: Name, the solid that moves, the other, the gap wanted, the move.
MOVES: dict[str, tuple[Solid, Solid, float, Vector]] = {
    "sheet down from a pipe": (DRILLED, Capsule((-20, 0, 15), (0, 0, 15), 5.5), 12.0, (0, 0, -2.5)),
    "pipe up from a sheet": (Capsule((-20, 0, 4), (0, 0, 4), 5.5), DRILLED, 6.0, (0, 0, 7.5)),
    "there already": (DRILLED, Capsule((-20, 0, 15), (0, 0, 15), 5.5), 9.5, (0, 0, 0)),
    "boxes": (Block(Frame(), (10, 10, 10)), Block(Frame((15, 3, 2)), (10, 10, 10)), 1.0, (-6, 0, 0)),
    "drums within each other": (Drum((0, 0, -9), (0, 0, 9), 5.0), Drum((3, 0, -50), (3, 0, 50), 5.0), 1.0, (-8, 0, 0)),
    "sheet above a wall": (DRILLED, Wall((0, 0, -3), (0, 0, 1)), 1.0, (0, 0, 3)),
    "wall below a sheet": (Wall((0, 0, -3), (0, 0, 1)), DRILLED, 1.0, (0, 0, -3)),
    "bolt back to the middle of its hole": (Drum((10.3, 0, -20), (10.3, 0, 20), 5.5), DRILLED, 0.4, (-0.2, 0, 0)),
    # Met, each with a way out that runs along no axis or is far shorter than those that do.
    "bolt out of the metal of its hole": (Drum((10.9, 0, -20), (10.9, 0, 20), 5.5), DRILLED, 0.3, (-0.7, 0, 0)),
    "metal off the bolt in its hole": (DRILLED, Drum((10, 0.8, -20), (10, 0.8, 20), 5.5), 0.3, (0, 0.6, 0)),
    # The corner is 10 sqrt 2 out along the diagonal, the face at 15 sqrt 2 - 10.
    "corner out of a face": (Block(Frame(), (10, 10, 10)), TURNED, 1.0, (SLANTED * -3.9289, SLANTED * -3.9289, 0)),
    # The corner is 5 sqrt 2 - sqrt 2 behind the wall.
    "block out of a slanted wall": (
        Block(Frame((1, 0, 1)), (5, 5, 5)), Wall((0, 0, 0), (SLANTED, 0, SLANTED)), 1.0,
        (SLANTED * 6.6569, 0, SLANTED * 6.6569),
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", MOVES)
def test_smallest_moves_by_hand(name: str) -> None:
    a, b, needed, move = MOVES[name]
    assert smallest_move(Parting(Mine.of([("a", a)]), [("", [b])], STILL, needed)) == pytest.approx(move, abs=1e-3)


@given(st.integers(0, 5000))
@settings(max_examples=15, deadline=None)
def test_the_move_out_of_something_that_is_met_parts_the_two(seed: int) -> None:
    """The move is held against the two solids' own gap, and against the three axes both ways."""
    rng = np.random.default_rng(seed)
    a = Block(Frame(), t3(rng.uniform(4, 12, 3)))
    b = Capsule(t3(rng.uniform(-6, 6, 3)), t3(rng.uniform(10, 40, 3)), 5.0)
    needed = float(rng.uniform(0.0, 4.0))
    move = smallest_move(Parting(Mine.of([("a", a)]), [("", [b])], STILL, needed))
    assert move is not None
    assert gap(shifted(a, move), b).mm >= needed - 1e-3
    # Half the way is too short: the two are convex, and met at first.
    assert gap(shifted(a, scaled(move, 0.5)), b).mm < needed
    straight = [(s * k, w) for k in (length(move) - 0.01,) for s in (1.0, -1.0) for w in np.eye(3)]
    assert all(gap(shifted(a, t3(mm * w)), b).mm < needed for mm, w in straight)


def test_the_way_out_of_something_that_is_met() -> None:
    drum = Drum((0.0, 0.0, -100.0), (0.0, 0.0, 100.0), 20.0)
    block = Block(Frame((15.0, 0.0, 0.0)), (10.0, 40.0, 10.0))
    move = smallest_move(Parting(Mine.of([("block", block)]), [("", [drum])], Box((0.0, 0.0, 0.0)), 3.0))
    assert move is not None
    # The block's near face at x = 5 has to come to 23.
    assert move == pytest.approx((18.0, 0.0, 0.0), abs=0.01)


# -- pipes with rounded corners


def test_a_rounded_corner_holds_the_true_pipe_and_little_more() -> None:
    points: list[Vector] = [(0.0, 0.0, 0.0), (200.0, 0.0, 0.0), (200.0, 150.0, 0.0)]
    runs = pipe_solids(points, 10.0, 60.0)
    for t in np.linspace(0, math.pi / 2, 200):
        # True centre line: a quarter circle around (140, 60), its surface 10 mm out.
        for out in (-10.0, 10.0):
            p = (140 + (60 + out) * math.sin(t), 60 - (60 + out) * math.cos(t), 0.0)
            beyond = min(from_run(p, run) for run in runs)
            assert -0.1 < beyond <= 1e-6
    assert sum(length(minus(r.b, r.a)) for r in runs) == pytest.approx(140 + 90 + 60 * math.pi / 2, abs=0.2)


def from_run(p: Vector, run: Capsule) -> float:
    a, b = np.array(run.a), np.array(run.b)
    t = np.clip((np.array(p) - a) @ (b - a) / ((b - a) @ (b - a)), 0, 1)
    return float(np.linalg.norm(np.array(p) - a - t * (b - a))) - run.radius


def test_a_corner_without_room_is_a_fault_at_its_pipe() -> None:
    text = line("fuel", -90.0, "bend_radius = 80\ngap = 5").replace(
        "[200, -90.0, 1.5]]", "[20, -90, 1.5], [20, -60, 1.5]]"
    )
    with pytest.raises(InputFaults, match=r"truck.site.toml:\d+:\d+: the pipe's corner at \(20, -90, 2\) has no room"):
        seen(text)


# -- what the part is bolted to, and what it carries


def test_the_part_may_lie_on_what_it_is_bolted_to_but_not_run_into_it() -> None:
    wall = '[neighbours.bulkhead]\nshape = "wall"\nat = [0, 0, 0]\nnormal = [0, 0, 1]\n'
    assert not fails(wall)
    # The same wall 2 mm before the tabs is not what the part is bolted to, and the plate stands in it.
    (finding,) = fails(wall.replace("at = [0, 0, 0]", "at = [0, 0, 2]"))
    assert finding.measured is not None and finding.measured < 0


def test_washers_between_do_not_make_it_a_stranger() -> None:
    """2 mm of washers hold the plate off the wall that it is bolted to; 3 mm are asked of what it is not bolted to."""
    wall = '[neighbours.bulkhead]\nshape = "wall"\nat = [0, 0, 0]\nnormal = [0, 0, 1]\n'
    shimmed = PLATE + '[site.shims]\n"plate/tab-1" = 2\n"plate/tab-2" = 2\n'
    assert not [f for f in found("gap", seen(wall, shimmed)) if f.level is Level.FAIL]


@pytest.mark.sweep
def test_bolts_count_as_metal() -> None:
    """Head of M8 (ISO 4017: 5.3 high) on a washer of 1.6 on 3 mm of plate: its top at 9.9 mm, 15.01 across corners."""
    roof = '[neighbours.roof]\nshape = "wall"\nat = [0, 0, {z}]\nnormal = [0, 0, -1]\n'
    assert not fails(roof.format(z=9.9 + 3.1))
    (finding,) = fails(roof.format(z=9.9 + 2.9))
    assert finding.measured == pytest.approx(2.9, abs=1e-6) and finding.required == 3.0
    # Behind a tab of 5 mm: washer 1.6, nut 6.8 (ISO 4032), two pitches of thread: down to -15.9.
    floor = '[neighbours.floor]\nshape = "box"\nat = [40, 0, {z}]\nsize = [300, 300, 10]\n'
    assert not fails(floor.format(z=-15.9 - 3.1 - 5))
    (finding,) = fails(floor.format(z=-15.9 - 2.9 - 5))
    assert finding.measured == pytest.approx(2.9, abs=1e-6)


@pytest.mark.parametrize(("free_mm", "told"), [(2.9, [2.9]), (3.1, [])])
def test_what_is_carried_keeps_its_gap_from_the_heads_of_other_bolts_too(free_mm: float, told: list[float]) -> None:
    """A box of 20 mm over the head at tab 1, whose top is 9.9 mm up (as above); its own frame has z down, y down."""
    above = -(9.9 + free_mm + 10.0 - 3.0)
    box = f'[carried.things.box]\nshape = "box"\nat = [-10, -40, {above}]\nsize = [20, 20, 20]\ngap = 3\n'
    place = seen("", plate=CARRYING, site=SITE + CARRIED + box)
    assert [f.measured for f in found("gap", place) if f.level is Level.FAIL] == pytest.approx(told, abs=1e-6)


def test_findings_of_a_site_can_be_waived_and_an_idle_waiver_is_told() -> None:
    from bracketgen.rules.engine import run_rules

    reading = seen(line("fuel", -70.0, "gap = 12"))
    waiver = '[[waivers]]\nrule = "gap"\nsubject = "part to line"\nreason = "clipped to the plate itself"\n'
    flat, folded = flat_of(PLATE + waiver)
    told = {f.rule: f for f in run_rules(flat, folded, reading.findings)}
    assert told["gap"].waived == "clipped to the plate itself"
    idle = [f for f in run_rules(flat, folded, ()) if f.rule == "waiver-unused"]
    assert len(idle) == 1 and "finds nothing" in idle[0].remedy


def flat_of(text: str):  # type: ignore[no-untyped-def]
    from bracketgen.bending.flat import unfold
    from bracketgen.bending.fold import fold
    from bracketgen.description.making.build import build
    from bracketgen.description.read import read

    job = build(read(text, "plate.toml"), "plate")
    return unfold(job.part, job.allowances), fold(job.part)
