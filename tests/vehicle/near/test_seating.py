"""The folded part on the vehicle's holes: where it comes to stand, how each bolt fits, what a step does to it."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from site_parts import PLATE, SITE, TABS, folded_of, found, located_at, seen, site_of

from bracketgen.errors import InputFaults
from bracketgen.findings import Level
from bracketgen.geometry.space import Frame, Vector, degrees_between, length, minus
from bracketgen.vehicle.near.solids import Bow, Plate, metal_solids
from bracketgen.vehicle.seating.misfit import pull_up_mpa
from bracketgen.vehicle.seating.place import Correspondence, LooseFault, best_frame, place

ANGLE = """
title = "angle on two faces"
units = "mm"
[stock]
metal = "S235"
thickness = 4
[bend]
inside_radius = 5
allowance = "K factor"
k_factor = 0.42
sizes = "outside"
[panels.foot]
outline = { shape = "rectangle", width = 80, height = 50 }
[[panels.foot.holes]]
name = "foot"
bolt = "M8"
at = [20, 20]
pattern = { kind = "row", count = 2, spacing = 40 }
[panels.wall]
outline = { shape = "rectangle", height = 60 }
bend = { from = "foot", edge = "top", turn = 90, way = "WAY" }
[[panels.wall.holes]]
name = "up"
bolt = "M8"
at = [40, 30]
[site]
file = "truck.site.toml"
touching = { foot = "SIDE", wall = "SIDE" }
[site.bolts]
"foot/foot-1" = "tabs.A"
"foot/foot-2" = "tabs.B"
"""


def a_turn(seed: int) -> Frame:
    """Any turn and shift."""
    rng = np.random.default_rng(seed)
    q, _ = np.linalg.qr(rng.normal(size=(3, 3)))
    if np.linalg.det(q) < 0:
        q[:, 0] *= -1
    o = rng.uniform(-300, 300, 3)
    x, y, z, at = (tuple(float(c) for c in v) for v in (q[:, 0], q[:, 1], q[:, 2], o))
    return Frame(at, x, y, z)


@given(st.integers(0, 10_000))
@settings(max_examples=60, deadline=None)
def test_a_rigid_move_is_found_again(seed: int) -> None:
    rng = np.random.default_rng(seed)
    frame = a_turn(seed)
    pairs = []
    for _ in range(int(rng.integers(2, 6))):
        p = tuple(float(c) for c in rng.uniform(-100, 100, 3))
        n = rng.normal(size=3)
        d = tuple(float(c) for c in n / np.linalg.norm(n))
        pairs.append(Correspondence(p, d, frame.point(p), frame.direction(d)))
    again = best_frame(pairs)
    for p in ((0.0, 0.0, 0.0), (100.0, -40.0, 20.0)):
        assert math.dist(again.point(p), frame.point(p)) < 1e-9


def test_one_axis_leaves_a_turn_open() -> None:
    z: Vector = (0.0, 0.0, 1.0)
    with pytest.raises(LooseFault):
        best_frame([Correspondence((0.0, 0.0, 0.0), z, (5.0, 0.0, 0.0), z)])


def test_the_plate_lies_with_its_back_on_the_tabs() -> None:
    placed = seen().placed
    assert placed.frame.point((0.0, 0.0, -3.0)) == pytest.approx((0.0, 0.0, 0.0), abs=1e-9)
    assert placed.frame.z == pytest.approx((0.0, 0.0, 1.0), abs=1e-12)


def test_with_its_face_on_the_tabs_the_plate_is_turned_over() -> None:
    plate = PLATE.replace("[site.bolts]", '[site.touching]\nplate = "face"\n[site.bolts]')
    placed = seen(plate=plate).placed
    assert placed.frame.z == pytest.approx((0.0, 0.0, -1.0), abs=1e-12)
    assert placed.frame.origin == pytest.approx((0.0, 0.0, 0.0), abs=1e-9)
    # The metal lies above the tabs all the same.
    assert placed.frame.point((0.0, -30.0, -1.5))[2] == pytest.approx(1.5)


def test_washers_lift_the_part() -> None:
    shims = '[site.shims]\n"plate/tab-1" = "2 mm"\n"plate/tab-2" = 2\n'
    placed = seen(plate=PLATE + shims).placed
    assert placed.frame.origin[2] == pytest.approx(5.0)


@pytest.mark.parametrize(("way", "side"), [("up", "back"), ("down", "back"), ("up", "face"), ("down", "face")])
def test_every_solid_of_an_angle_holds_its_own_metal(way: str, side: str) -> None:
    """Points of the folded panels and of the bend's middle line lie in the solids; checked by plain projections."""
    _, folded = folded_of(ANGLE.replace("WAY", way).replace("SIDE", side))
    frame = a_turn(7)
    solids = dict(metal_solids(folded, frame))
    wall = solids["wall"]
    assert isinstance(wall, Plate)
    mid = frame.point(folded.frames["wall"].point((10.0, 12.0, -2.0)))
    local = within(wall.frame, mid)
    assert wall.low < local[2] < wall.high and local[:2] == pytest.approx((10.0, 12.0))
    bow = next(s for s in solids.values() if isinstance(s, Bow))
    # Ends of the bend: the parent's metal at its tangent line, the child's at its own, both halfway through.
    bend = folded.part.bends[0]
    for panel, line in ((bend.parent, bend.parent_line), (bend.child, bend.child_line)):
        for share in (0.0, 0.3, 1.0):
            x = line.start.x + share * (line.end.x - line.start.x)
            y = line.start.y + share * (line.end.y - line.start.y)
            p = within(bow.frame, frame.point(folded.frames[panel].point((x, y, -2.0))))
            assert math.hypot(p[1], p[2]) == pytest.approx((bow.inner + bow.outer) / 2, abs=1e-9)
            assert -1e-9 <= p[0] <= bow.width + 1e-9
            turned = math.degrees(math.atan2(p[1], -p[2]))
            assert turned == pytest.approx(0.0 if panel == bend.parent else 90.0, abs=1e-7)


def within(frame: Frame, p: Vector) -> Vector:
    """A point of the outer frame in a frame's own numbers."""
    d = minus(p, frame.origin)
    return tuple(sum(a * b for a, b in zip(axis, d, strict=True)) for axis in (frame.x, frame.y, frame.z))  # type: ignore[return-value]


# -- misfit


def test_a_hole_farther_off_than_the_play_fails_by_what_is_missing() -> None:
    # Clearance hole 9 for M8 (ISO 273 medium), old hole 9: play (9 - 8) / 2 twice = 1 mm to each side. The part's
    # holes are 80 apart; least squares halves what the tabs are off.
    near = seen(places=TABS | {"tabs.B": (81.9, 0.0, 0.0)})
    assert [m.off_mm for m in near.misfits] == pytest.approx([0.95, 0.95])
    assert not found("misfit", near)
    far = seen(places=TABS | {"tabs.B": (82.1, 0.0, 0.0)})
    assert [f.measured for f in found("misfit", far)] == pytest.approx([1.05, 1.05])
    assert all(f.level is Level.FAIL and f.required == pytest.approx(1.0) for f in found("misfit", far))


def test_a_thread_gives_no_play_of_its_own() -> None:
    site = SITE.replace("A = { diameter = 9 }", 'A = { thread = "M8" }')
    assert [m.bolt.play_mm for m in seen(site=site).misfits] == pytest.approx([0.5, 1.0])


def test_a_bolt_too_thick_for_its_hole_fails() -> None:
    site = SITE.replace("A = { diameter = 9 }", 'A = { thread = "M10" }')
    place_ = seen(site=site)
    assert [m.bolt.size for m in place_.misfits] == ["M10", "M8"]
    assert found("misfit", place_)[0].measured == pytest.approx(-0.5)


def test_a_slot_lets_its_bolt_stand_anywhere_along_it() -> None:
    # Slot 9 x 15: 3 mm to each side; the other hole keeps the part where it is.
    plate = (
        PLATE.replace(
            'bolt = "M8"\nat = [0, 0]\npattern = { kind = "row", count = 2, spacing = 80 }', 'bolt = "M8"\nat = [0, 0]'
        )
        + ""
    )
    slot = '[[panels.plate.holes]]\nname = "far"\nbolt = "M8"\nat = [80, 0]\nslot = { length = 15, direction = 0 }\n'
    plate = (
        plate.replace("[site]", f"{slot}[site]").replace("plate/tab-1", "plate/tab").replace("plate/tab-2", "plate/far")
    )
    place_ = seen(plate=plate, places=TABS | {"tabs.B": (82.9, 0.0, 0.0)})
    assert [m.off_mm for m in place_.misfits] == pytest.approx([0.0, 0.0], abs=1e-6)
    assert place_.placed.frame.origin[0] == pytest.approx(0.0, abs=1e-6)
    beyond = seen(plate=plate, places=TABS | {"tabs.B": (84.0, 0.0, 0.0)})
    # 4 mm less 3 mm of slot, shared by two bolts.
    assert [m.off_mm for m in beyond.misfits] == pytest.approx([0.5, 0.5], abs=1e-6)


def test_a_face_out_of_square_is_told() -> None:
    t = math.radians(4.0)
    tilted: Vector = (0.0, math.sin(t), math.cos(t))
    text = SITE.replace(
        "[faces.tabs.holes]\nA = { diameter = 9 }\nB = { diameter = 9 }",
        "[faces.tabs.holes]\nA = { diameter = 9 }\n[faces.other.holes]\nB = { diameter = 9 }",
    )
    plate = PLATE.replace("tabs.B", "other.B")
    place_ = seen(
        plate=plate, site=text, places={"tabs.A": (0, 0, 0), "other.B": (80, 0, 0)}, normals={"other": tilted}
    )
    # The part takes the middle between the two.
    assert [m.tilt_deg for m in place_.misfits] == pytest.approx([2.0, 2.0], abs=1e-6)
    assert [f.level for f in found("hole-axis", place_)] == [Level.WARN, Level.WARN]


# -- steps


def test_stress_of_a_step_by_the_closed_form() -> None:
    # E 210 GPa, 0.5 mm step, t 4, L 40: 3 * 210000 * 0.5 * 4 / (2 * 1600) = 393.75 MPa with the end free to slant.
    assert pull_up_mpa(210_000.0, 0.5, 4.0, 40.0) == pytest.approx(393.75)


def test_a_step_between_two_tabs_is_reported_with_both_stresses() -> None:
    place_ = seen(places=TABS | {"tabs.B": (80.0, 0.0, 0.5)})
    (step,) = place_.steps
    assert step.bolt.mate == "tabs.B"
    # Seen across the feet as they were made: 0.5 mm, whatever tilt least squares gave the part.
    assert step.step_mm == pytest.approx(0.5, rel=1e-4)
    assert step.free_mm == pytest.approx(80.0)
    # Built-in beam at both ends, independently: deflection F L^3 / (12 E I), end moment F L / 2.
    e, t, span, width = 210_000.0, 3.0, 80.0, 10.0
    inertia = width * t**3 / 12
    force = 12 * e * inertia * 0.5 / span**3
    assert step.square_mpa == pytest.approx(force * span / 2 * (t / 2) / inertia, rel=0.01)
    # Cantilever with a load on its end: F L^3 / (3 E I), root moment F L.
    force = 3 * e * inertia * 0.5 / span**3
    assert step.free_mpa == pytest.approx(force * span * (t / 2) / inertia, rel=0.01)
    (finding,) = found("hole-step", place_)
    # 147.7 MPa is more than half of the 235 MPa of S235.
    assert finding.level is Level.WARN and "0.50 mm" in finding.remedy and "shim" in finding.remedy


def test_a_shim_takes_the_step_away() -> None:
    plate = PLATE + '[site.shims]\n"plate/tab-1" = 0.5\n'
    place_ = seen(plate=plate, places=TABS | {"tabs.B": (80.0, 0.0, 0.5)})
    assert not found("hole-step", place_)
    assert length(minus(place_.placed.bolts[0].at, (0.0, 0.0, 0.5))) < 1e-9


def test_a_step_beyond_the_yield_stress_fails() -> None:
    # S235: 235 MPa. Clamped square: 3 E d t / L^2 = 3 * 210000 * 3 * d / 6400 = 295.3 MPa per mm of step.
    steps = {d: found("hole-step", seen(places=TABS | {"tabs.B": (80.0, 0.0, d)})) for d in (0.79, 0.80)}
    assert [f.level for fs in steps.values() for f in fs] == [Level.WARN, Level.FAIL]


# -- names


def test_every_wrong_name_is_told_at_its_place_with_the_nearest_word() -> None:
    plate = PLATE.replace('"plate/tab-1" = "tabs.A"', '"plate/tap-1" = "tabs.A"').replace('= "tabs.B"', '= "tabs.BB"')
    plate += '[site.touching]\nplte = "face"\n'
    reading, folded = folded_of(plate)
    site = site_of(SITE)
    assert reading.document.site is not None
    with pytest.raises(InputFaults) as caught:
        place(folded, reading.document.site, reading.source, site, located_at(site, TABS))
    lines = plate.splitlines()
    said = [(f.place.line, f.place.column, f.what, f.cure) for f in caught.value.faults]
    assert [(lines[line - 1][column - 1 :][:14], what) for line, column, what, _ in said] == [
        ('"plate/tap-1" ', "there is no hole of the part 'plate/tap-1'"),
        ('"tabs.BB"', "there is no hole of the site 'tabs.BB'"),
        ('plte = "face"', "there is no panel or bolt of [site] 'plte'"),
    ]
    assert [cure.split("?")[0] for *_, cure in said] == [
        "did you mean 'plate/tab-1'", "did you mean 'tabs.B'", "did you mean 'plate'"
    ]  # fmt: skip


def test_one_hole_takes_one_bolt() -> None:
    with pytest.raises(InputFaults, match=r"plate.toml:\d+:\d+: 'tabs.A' has the bolt of 'plate/tab-1' in it already"):
        seen(plate=PLATE.replace('= "tabs.B"', '= "tabs.A"'))


def test_a_part_that_hangs_on_nothing_is_a_fault() -> None:
    site = SITE + CARRIED_TWO
    plate = PLATE.replace('"tabs.A"', '"carried.stud-1"').replace('"tabs.B"', '"carried.stud-2"')
    with pytest.raises(InputFaults, match="no bolt goes to a hole of the vehicle"):
        seen(plate=plate, site=site)


CARRIED_TWO = """
[carried]
mass = 1
centre = [0, 0, -20]
at = [0, 0, 3]
normal = [0, 0, -1]
x = [1, 0, 0]
[[carried.holes]]
name = "stud"
bolt = "M8"
pattern = { kind = "row", count = 2, spacing = 80 }
"""


def test_one_bolt_on_the_vehicle_is_helped_by_the_wished_place() -> None:
    plate = PLATE.replace('"tabs.B"', '"carried.stud"').replace(
        "[site.bolts]", '[site.touching]\n"plate/tab-2" = "face"\n[site.bolts]'
    )
    one = CARRIED_TWO.replace('pattern = { kind = "row", count = 2, spacing = 80 }\n', "at = [0, 0]\n")
    one = one.replace("at = [0, 0, 3]", "at = [0, 80, 3]")
    with pytest.raises(InputFaults, match="carried thing leave it free to turn"):
        seen(plate=plate, site=SITE + one)


def test_the_carried_thing_follows_the_part() -> None:
    holes = '[[panels.plate.holes]]\nname = "stud"\nbolt = "M8"\nat = [10, -40]\n'
    holes += 'pattern = { kind = "row", count = 2, spacing = 60 }\n[site]'
    plate = PLATE.replace("[site]", holes)
    plate += '"plate/stud-1" = "carried.stud-1"\n"plate/stud-2" = "carried.stud-2"\n'
    plate += '[site.touching]\n"plate/stud-1" = "face"\n"plate/stud-2" = "face"\n'
    site = SITE + CARRIED_TWO.replace("spacing = 80", "spacing = 60").replace("at = [0, 0, 3]", "at = [12, -40, 3]")
    place_ = seen(plate=plate, site=site)
    carried = place_.placed.carried
    assert carried is not None
    assert carried.origin == pytest.approx((10.0, -40.0, 3.0), abs=1e-9)
    assert degrees_between(carried.z, (0.0, 0.0, -1.0)) < 1e-9
    (finding,) = found("carried-place", place_)
    assert finding.level is Level.WARN and finding.measured == pytest.approx(2.0)
