"""Room for the hand or the strap wrench that unscrews a filter: by plain distances, a tenth to either side."""

from __future__ import annotations

import pytest
from site_parts import found
from test_clearance_service import CAN, with_can
from test_clearance_way_out import here

from bracketgen.findings import Finding, Level
from bracketgen.standards.hand_tools import tool_room_mm, tool_swing
from bracketgen.vehicle.access.grip import Cramped, cramped, crowded, crowded_finding, grip_findings

#: The can's axis stands at (40, -40), its skin 20 mm from it, from z = 5 to 65; shorter than a hand is broad. The heads
#: of the bolts are 49 mm from the axis or more: no matter of a ring of 45 mm.
THIN = CAN.replace("diameter = 50", "diameter = 40")
BY_HAND = THIN.replace("gap = 1", 'gap = 1\ngrip = "hand"')
#: 120 mm long: from z = 5 to 125, the hand on the 90 mm before its free end, so from z = 35.
LONG = BY_HAND.replace("-62]", "-122]")
STRAP = BY_HAND.replace('"hand"', '"strap wrench"')
ROOM = 25.0
#: The free side of a wall looks back at the can.
WALL = '[neighbours.tank]\nshape = "wall"\nat = [{x}, 0, 0]\nnormal = [-1, 0, 0]\ngap = 0\n'


def in_hand(more: str, can: str = BY_HAND) -> list[Finding]:
    """What stands in the room of the hand."""
    return [crowded_finding(c) for c in crowded(here(more, can))]


def block(x: float, z: float, high: float = 10.0) -> str:
    """A block whose side looks at the can from `x`, its lower side at `z`."""
    at = [x + 10.0, -40.0, z + high / 2]
    return f'[neighbours.block]\nshape = "box"\nat = {at}\nsize = [20, 20, {high}]\ngap = 0\n'


def test_the_rooms_are_those_of_the_table() -> None:
    assert tool_room_mm("hand room") == ROOM and tool_room_mm("hand length") == 90.0
    assert tool_room_mm("strap room") == 10.0 and tool_room_mm("strap length") == 30.0
    assert tool_swing("strap wrench").swing_deg == 30.0


def test_a_wall_in_the_room_of_the_hand_is_told_a_tenth_to_either_side() -> None:
    limit = 40.0 + 20.0 + ROOM
    assert not in_hand(WALL.format(x=limit + 0.1))
    assert not in_hand(WALL.format(x=limit))
    (finding,) = in_hand(WALL.format(x=limit - 0.1))
    assert finding.rule == "hand-room" and finding.level is Level.FAIL and finding.subject == "carried can"
    assert finding.measured == pytest.approx(24.9, abs=2e-3) and finding.required == ROOM
    assert "'tank' stands in the room of the hand that unscrews it" in finding.remedy
    assert "move 'tank' by 0.1 mm along (1.00, 0.00, 0.00)" in finding.remedy


def test_what_is_farther_in_leaves_less() -> None:
    (finding,) = in_hand(WALL.format(x=40.0 + 20.0 + 7.0))
    assert finding.measured == pytest.approx(7.0, abs=2e-3)


def test_it_stands_among_the_findings_of_the_site() -> None:
    (finding,) = found("hand-room", with_can(WALL.format(x=80.0), BY_HAND))
    assert finding.measured == pytest.approx(20.0, abs=2e-3)
    assert not in_hand(WALL.format(x=80.0), THIN)


def test_the_hand_grips_near_the_end_that_comes_out_first() -> None:
    """A block up to z = 35 is below the hand, one that reaches higher is in its way."""
    assert not in_hand(block(70.0, 25.0), LONG)
    assert in_hand(block(70.0, 25.1), LONG)
    # Beyond the free end at z = 125 nothing is in the way of the fingers.
    assert not in_hand(block(20.0, 125.0), LONG)
    assert in_hand(block(70.0, 124.9), LONG)


def test_another_place_of_the_grip_is_free_where_the_person_says() -> None:
    """With its middle 75 mm before the free end the hand lies from z = 5 to 95."""
    lower = LONG.replace('"hand"', '"hand"\ngrip_at = 75')
    assert not in_hand(block(70.0, 95.0), lower)
    assert in_hand(block(70.0, 94.9), lower)
    assert in_hand(block(70.0, 95.0), LONG)


def test_other_carried_things_count_and_the_end_it_hangs_on_does_not() -> None:
    fellow = '[carried.things.valve]\nshape = "box"\nat = [{x}, 0, -30]\nsize = [20, 20, 20]\ngap = 1\n'
    limit = 30.0 + 20.0 + ROOM + 10.0
    assert not in_hand("", BY_HAND + fellow.format(x=limit + 0.1))
    (finding,) = in_hand("", BY_HAND + fellow.format(x=limit - 0.1))
    assert "'carried valve'" in finding.remedy and finding.measured == pytest.approx(24.9, abs=2e-3)
    head = '[carried.things.head]\nshape = "box"\nat = [30, 0, -1]\nsize = [120, 100, 2]\ngap = 0\n'
    assert not in_hand("", BY_HAND + head)


def test_the_part_counts_for_a_neighbour_that_is_unscrewed() -> None:
    """Beside the plate's edge at x = 100, level with its metal; other old neighbours are no matter of the part."""
    can = (
        '[neighbours.filter]\nshape = "cylinder"\nat = [{x}, -20, -30]\nto = [{x}, -20, 30]\ndiameter = 50\n'
        'removal = [0, 0, 40]\ngrip = "hand"\ngap = 0\n'
    )
    edge = 100.0 + ROOM + 25.0
    wall = WALL.format(x=edge + 26.0)
    assert not in_hand(can.format(x=edge + 0.1) + wall, "")
    (finding,) = in_hand(can.format(x=edge - 0.1) + wall, "")
    assert finding.subject == "filter" and "panel plate" in finding.remedy and "move the part" in finding.remedy
    assert finding.measured == pytest.approx(24.9, abs=2e-3)


# -- the strap wrench


def cramped_by(more: str) -> tuple[Cramped, ...]:
    return cramped(here(more, STRAP))


def test_the_strap_wants_less_around_it_and_only_where_it_lies() -> None:
    """10 mm around the last 30 mm: from z = 35 to 65."""
    assert not in_hand(WALL.format(x=70.0), STRAP)
    (finding,) = in_hand(WALL.format(x=69.9), STRAP)
    assert finding.measured == pytest.approx(9.9, abs=2e-3) and "room of the strap wrench" in finding.remedy
    assert not in_hand(block(66.0, 25.0), STRAP)


def corner(room: float) -> str:
    """Four walls around the axis, each `room` beyond the strap's ring of 30 mm."""
    far = 30.0 + room
    sides = {"east": (1, 0), "west": (-1, 0), "north": (0, 1), "south": (0, -1)}
    text = '[neighbours.{n}]\nshape = "wall"\nat = [{at_x}, {at_y}, 0]\nnormal = [{x}, {y}, 0]\ngap = 0\n'
    return "".join(text.format(n=n, at_x=40 + far * x, at_y=-40 + far * y, x=-x, y=-y) for n, (x, y) in sides.items())


def test_its_handle_has_to_swing() -> None:
    """The handle ends 200 mm beyond the ring, in a fist of 30 mm: free beside one wall, not between four."""
    assert not cramped_by(WALL.format(x=80.0))
    (tight,) = cramped_by(corner(100.0))
    assert tight.swing_deg == 0.0 and tight.needed_deg == 30.0
    assert set(tight.in_the_way) == {"east", "west", "north", "south"}
    (finding,) = grip_findings(here(corner(100.0), STRAP))
    assert finding.unit == "deg" and "swings 0 degrees" in finding.remedy
    assert not cramped_by(corner(201.0))
