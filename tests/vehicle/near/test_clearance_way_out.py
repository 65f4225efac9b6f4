"""A way out of more than one leg: straight off the thread, then tilted, then on; by plane geometry."""

from __future__ import annotations

import math
import random

import pytest
from site_parts import PLATE, SITE, TABS, folded_of, located_at, seen, site_of
from test_clearance_heat import CARRIED, CARRYING
from test_clearance_service import CAN, with_can

from bracketgen.errors import InputFaults
from bracketgen.files.site_report import site_block
from bracketgen.findings import Finding, Level
from bracketgen.geometry.space import Frame, degrees_between
from bracketgen.vehicle.near.gap import Bodies, gap
from bracketgen.vehicle.near.gap import gaps as pair_gaps
from bracketgen.vehicle.near.motion import Tilt
from bracketgen.vehicle.near.removal import (
    CLOSELY_MM,
    TOUCH_MM,
    blocked,
    first_touch,
    gaps_on,
    least_on_way,
    removal_finding,
)
from bracketgen.vehicle.near.scene import Scene, scene
from bracketgen.vehicle.near.solids import Block, Capsule, Drum, moved
from bracketgen.vehicle.seating.place import place

#: The can's joint is at (40, -40, 5) of the site, its free end 60 mm farther out; drawn 40 mm out along z, it tilts
#: about the middle of its joint end, (40, -40, 45) by then, so that its free end swings along -y (own +y).
JOINT = "[30, 0, -2]"


def tilting(tilt: float, more: str = "", pivot: str = f", pivot = {JOINT}") -> str:
    legs = f"removal_then = [{{ tilt = {tilt}, toward = [0, 1, 0]{pivot} }}{more}]"
    return CAN.replace("gap = 1", f"gap = 1\n{legs}")


def wall_below(y: float) -> str:
    return f'[neighbours.tank]\nshape = "wall"\nat = [0, {y}, 0]\nnormal = [0, 1, 0]\ngap = 0\n'


def ceiling(z: float) -> str:
    return f'[neighbours.floor]\nshape = "wall"\nat = [0, 0, {z}]\nnormal = [0, 0, -1]\ngap = 0\n'


def here(more: str, can: str = "") -> Scene:
    """The plate, with a can that it carries or without, and `more` beside it."""
    reading, folded = folded_of(CARRYING if can else PLATE)
    site = site_of(SITE + (CARRIED + can if can else "") + more)
    table = reading.document.site
    assert table is not None
    return scene(place(folded, table, reading.source, site, located_at(site, TABS)), site)


def stopped(more: str, can: str = "") -> list[Finding]:
    return [removal_finding(b) for b in blocked(here(more, can))]


# -- straight for the thread, then tilted


def test_the_leading_rim_swings_25_cos_t_plus_60_sin_t_aside() -> None:
    """At 30 degrees 21.651 + 30 = 51.651 mm below the axis at y = -40."""
    far = -40.0 - 25.0 * math.cos(math.radians(30)) - 30.0
    assert far == pytest.approx(-91.651, abs=1e-3)
    assert not stopped(wall_below(far - 0.1), tilting(30))
    (finding,) = stopped(wall_below(far + 0.1), tilting(30))
    assert finding.level is Level.FAIL and finding.subject == "carried can" and finding.unit == "deg"
    assert finding.required == 30.0 and finding.measured is not None and 29.0 < finding.measured < 30.0


def test_how_far_it_tilts_before_it_touches() -> None:
    """25 cos t + 60 sin t = 65 cos(t - 67.380) = 45: t = 67.380 - acos(45 / 65) = 67.380 - 46.187 = 21.193 degrees."""
    (finding,) = stopped(wall_below(-85.0), tilting(30))
    assert finding.measured == pytest.approx(21.193, abs=0.02)
    assert "leg 2 of 2 of its way out: it tilts 21.2 degrees, then 'tank' is in the way" in finding.remedy
    # 51.651 - 45 are missing, and a tenth for a free way.
    assert "move 'tank' by 6.8 mm along (0.00, -1.00, 0.00)" in finding.remedy


def test_a_ceiling_that_only_the_middle_of_the_tilt_reaches() -> None:
    """The other rim rises to 65 mm above the joint at t = atan(25 / 60) = 22.6 degrees, and is lower at both ends."""
    assert not stopped(ceiling(110.1), tilting(45))
    (finding,) = stopped(ceiling(109.9), tilting(45))
    assert finding.measured == pytest.approx(22.620 - math.degrees(math.acos(64.9 / 65.0)), abs=0.1)
    # A tenth is missing, a tenth is for a free way; some hundredths more come from looking at poses: rounded up.
    assert "move 'floor' by 0.3 mm along (0.00, 0.00, 1.00)" in finding.remedy


def test_the_straight_leg_still_comes_first() -> None:
    """A ceiling 1 mm below the stroke: told on leg 1, in mm."""
    (finding,) = stopped(ceiling(104.0), tilting(5))
    assert finding.measured == pytest.approx(39.0, abs=0.01) and finding.unit == "mm"
    assert "leg 1 of 2" in finding.remedy


def test_a_wire_between_two_looks_is_not_stepped_over() -> None:
    """0.1 mm thick, across the way of the leading rim (65 mm from the joint), where that is after 15.47 degrees."""
    at = math.radians(15.47) + math.atan2(25.0, 60.0)
    y, z = -40.0 - 65.0 * math.sin(at), 45.0 + 65.0 * math.cos(at)
    wire = f'[neighbours.wire]\nshape = "pipe"\npoints = [[-60, {y}, {z}], [140, {y}, {z}]]\ndiameter = 0.1\ngap = 0\n'
    (finding,) = stopped(wire, tilting(30))
    assert finding.measured == pytest.approx(15.47, abs=0.15)
    outside = math.radians(15.47) + math.atan2(25.0, 60.0)
    y, z = -40.0 - 65.2 * math.sin(outside), 45.0 + 65.2 * math.cos(outside)
    wire = f'[neighbours.wire]\nshape = "pipe"\npoints = [[-60, {y}, {z}], [140, {y}, {z}]]\ndiameter = 0.1\ngap = 0\n'
    assert not stopped(wire, tilting(30))


def test_left_out_it_tilts_about_its_middle() -> None:
    """The rim is then hypot(25, 30) from the middle: 25 cos 30 + 30 sin 30 = 36.651 mm aside at the end."""
    far = -40.0 - 36.651
    assert not stopped(wall_below(far - 0.1), tilting(30, pivot=""))
    assert stopped(wall_below(far + 0.1), tilting(30, pivot=""))


def test_a_third_leg_goes_on_from_where_the_tilt_ends() -> None:
    """Tilted by 90 degrees the can lies from y = -40 to -100; then 50 mm on along -y: to -150."""
    on = tilting(90, ", { move = [0, 50, 0] }")
    assert not stopped(wall_below(-150.1), on)
    (finding,) = stopped(wall_below(-140.0), on)
    # The wall is reached after 40 mm; on the tilt the rim came no lower than 65.
    assert finding.measured == pytest.approx(40.0, abs=0.01) and finding.required == 50.0 and finding.unit == "mm"
    assert "leg 3 of 3 of its way out: it comes 40.0 mm out" in finding.remedy


def test_a_second_tilt_leans_the_end_that_leads_by_then() -> None:
    """90 degrees to -y, then 90 degrees along x: about its middle (40, -70, 45), so it ends along x, 30 mm each way."""
    twice = tilting(90, ", { tilt = 90, toward = [1, 0, 0] }")
    side = '[neighbours.post]\nshape = "wall"\nat = [{x}, 0, 0]\nnormal = [-1, 0, 0]\ngap = 0\n'
    reach = math.hypot(25.0, 30.0)
    assert not stopped(side.format(x=40 + reach + 0.1), twice)
    (finding,) = stopped(side.format(x=40 + reach - 0.1), twice)
    assert "leg 3 of 3" in finding.remedy and finding.unit == "deg"


def test_the_part_may_be_in_the_way_of_a_neighbour_that_tilts() -> None:
    """A box drawn 10 mm off the plate, its lower side then at z = 14: tilted about its middle its edge goes down."""
    tank = (
        '[neighbours.tank]\nshape = "box"\nat = [40, -20, 24]\nsize = [40, 40, 40]\nremoval = [0, 0, 10]\n'
        "removal_then = [{ tilt = TILT, toward = [1, 0, 0] }]\ngap = 0\n"
    )
    # Middle at z = 34, plate's face at 3: sqrt(2) x 20 cos(45 - t) = 28.28 at 45 degrees, so never below z = 5.7.
    assert not stopped(tank.replace("TILT", "90"))
    low = tank.replace("removal = [0, 0, 10]", "removal = [0, 0, 4]").replace("TILT", "90")
    # Middle at 28: 25 mm over the face: 20 cos t + 20 sin t = 25 at t = 45 - acos(25 / 28.284) = 17.1 degrees.
    (finding,) = stopped(low)
    assert finding.measured == pytest.approx(45 - math.degrees(math.acos(25 / (20 * math.sqrt(2)))), abs=0.05)
    assert "panel plate" in finding.remedy


def test_the_report_says_on_which_leg() -> None:
    (told,) = site_block(with_can(wall_below(-85.0), tilting(30)))["removals"]
    assert told["leg"] == 2 and told["legs"] == 2 and told["way_deg"] == 30.0
    assert told["free_deg"] == pytest.approx(21.193, abs=0.02) and "free_mm" not in told


# -- against poses looked at one by one


@pytest.mark.parametrize("seed", range(6))
def test_the_least_gap_on_a_tilt_by_brute_force(seed: int) -> None:
    chance = random.Random(seed)

    def any_place(far: float) -> tuple[float, float, float]:
        return (chance.uniform(-far, far), chance.uniform(-far, far), chance.uniform(-far, far))

    thing = Drum((0.0, 0.0, 0.0), (0.0, 0.0, chance.uniform(40, 120)), chance.uniform(10, 50))
    axis = (math.cos(seed), math.sin(seed), 0.0)
    tilt = Tilt(Frame((0.0, 0.0, -20.0)), any_place(20), axis, chance.uniform(20, 120))
    block = Block(Frame(any_place(160)), (20.0, 15.0, 30.0))
    pipe = Capsule(any_place(200), any_place(200), 6.0)
    still = Bodies.of([block, pipe])
    gaps, reach = gaps_on(tilt, [thing], still), tilt.reach_mm([thing])
    poses = [moved(thing, tilt.pose(k / 200)) for k in range(201)]
    slow = min(g.mm for g in pair_gaps([(s, p) for p in poses for s in (block, pipe)]))
    if slow <= 0.0:
        touch = first_touch(gaps, reach)
        assert touch is not None
        mm = min(gap(s, moved(thing, tilt.pose(touch))).mm for s in (block, pipe))
        # Those that meet before anything moves touch after nothing.
        assert mm == pytest.approx(0.0, abs=0.01) if touch > 0.0 else mm <= TOUCH_MM
        assert least_on_way(gaps, reach) == -math.inf
    else:
        least = least_on_way(gaps, reach)
        assert first_touch(gaps, reach) is None or slow <= 2 * TOUCH_MM
        assert least <= slow + 1e-6 and least == pytest.approx(slow, abs=CLOSELY_MM + reach / 200)


def test_a_tilt_is_a_turn_about_its_pivot() -> None:
    tilt = Tilt(Frame((0.0, 0.0, 40.0)), (1.0, 2.0, 43.0), (0.0, 0.0, 1.0), 90.0)
    assert tilt.pose(1.0).point((1.0, 2.0, 3.0)) == pytest.approx((1.0, 2.0, 43.0))
    assert tilt.pose(1.0).point((6.0, 2.0, 3.0)) == pytest.approx((1.0, 7.0, 43.0))
    assert degrees_between(tilt.pose(0.5).x, (1.0, 0.0, 0.0)) == pytest.approx(45.0)


# -- what is written wrong


def written(legs: str, removal: str = "removal = [0, 0, -40]") -> str:
    return SITE + CARRIED + CAN.replace("removal = [0, 0, -40]", f"{removal}\n{legs}".lstrip())


@pytest.mark.parametrize(
    ("legs", "what", "cure"),
    [
        ("removal_then = [{}]", "a leg of the way out is one thing", "give move"),
        ("removal_then = [{ move = [1, 0, 0], tilt = 5 }]", "a leg of the way out is one thing", "give move"),
        ("removal_then = [{ move = [0, 0, 0] }]", "a move of zeros goes nowhere", ""),
        ("removal_then = [{ tilt = 20 }]", "nothing says which way it tilts", "give toward"),
        ("removal_then = [{ tilt = 0, toward = [1, 0, 0] }]", "a tilt of 0 degrees", "more than 0"),
        ("removal_then = [{ tilt = 181, toward = [1, 0, 0] }]", "a tilt of 181 degrees", "at most 180"),
        ("removal_then = [{ tilt = -5, toward = [1, 0, 0] }]", "a tilt of -5 degrees", "toward"),
        ("removal_then = [{ move = [1, 0, 0], toward = [1, 0, 0] }]", "toward and pivot belong to a tilt", ""),
        ("removal_then = [{ tilt = 5, towards = [1, 0, 0], toward = [1, 0, 0] }]", "'towards'", "'toward'"),
        ("removal_than = [{ move = [1, 0, 0] }]", "'removal_than'", "'removal_then'"),
        ('grip = "hands"', "'hands' is not known here", "did you mean 'hand'?"),
        ("grip_at = 20", "grip_at without grip", "give grip"),
        ('grip = "hand"\ngrip_at = 61', "off a cylinder 60 mm long", "count from the end"),
    ],
)
def test_faults_are_told(legs: str, what: str, cure: str) -> None:
    with pytest.raises(InputFaults) as caught:
        site_of(written(legs))
    (fault,) = caught.value.faults
    assert what in fault.what and cure in fault.cure and fault.place.line > 1


@pytest.mark.parametrize("legs", ["removal_then = [{ move = [1, 0, 0] }]", 'grip = "hand"'])
@pytest.mark.parametrize("removal", ["", "removal = [0, 0, 0]"])
def test_legs_and_grips_belong_to_what_is_taken_away(legs: str, removal: str) -> None:
    with pytest.raises(InputFaults) as caught:
        site_of(written(legs, removal))
    (fault,) = caught.value.faults
    assert "removal" in fault.cure


@pytest.mark.parametrize("toward", [[0, 0, -1], [0, 0, 2]])
def test_a_tilt_along_the_way_is_no_tilt(toward: list[int]) -> None:
    site = written(f"removal_then = [{{ tilt = 20, toward = {toward} }}]")
    with pytest.raises(InputFaults) as caught:
        seen(plate=CARRYING, site=site)
    (fault,) = caught.value.faults
    assert "leg 2 of the way out tilts toward where the thing points already" in fault.what
