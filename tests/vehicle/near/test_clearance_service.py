"""What is taken away for service has its way free; one rigid part joins no two bodies."""

from __future__ import annotations

import pytest
from site_parts import PLATE, SITE, found, seen
from test_clearance_heat import CARRIED, CARRYING

from bracketgen.findings import Finding, Level
from bracketgen.vehicle.in_place import InPlace

#: A can on the plate's face, 60 long, that comes off 40 mm straight out of the plate (own -z).
CAN = """
[carried.things.can]
shape = "cylinder"
at = [30, 0, -2]
to = [30, 0, -62]
diameter = 50
removal = [0, 0, -40]
gap = 1
"""


def with_can(more: str, can: str = CAN) -> InPlace:
    return seen(more, plate=CARRYING, site=SITE + CARRIED + can)


def removals(place: InPlace) -> list[Finding]:
    return found("removal", place)


def test_a_ceiling_one_millimetre_below_the_stroke_is_told() -> None:
    """The can's end stands at z = 65 and has to go to 105."""
    ceiling = '[neighbours.floor]\nshape = "wall"\nat = [0, 0, {z}]\nnormal = [0, 0, -1]\ngap = 5\n'
    assert not removals(with_can(ceiling.format(z=105.1)))
    (finding,) = removals(with_can(ceiling.format(z=104.0)))
    assert finding.level is Level.FAIL and finding.subject == "carried can"
    assert finding.measured == pytest.approx(39.0, abs=0.01) and finding.required == 40.0
    assert "move 'floor' by 1.1 mm along (0.00, 0.00, 1.00)" in finding.remedy


def test_a_rod_across_the_way_is_found_though_both_ends_are_free() -> None:
    can = CAN.replace("removal = [0, 0, -40]", "removal = [0, 0, -200]")
    rod = '[neighbours.rod]\nshape = "pipe"\npoints = [[-100, -40, 120], [200, -40, 120]]\ndiameter = 4\n'
    (finding,) = removals(with_can(rod, can))
    assert finding.measured == pytest.approx(120 - 2 - 65, abs=0.01)
    assert not removals(with_can(rod.replace("-40, 120", "40, 120"), can))


def test_the_part_itself_may_stand_in_the_way_of_a_neighbour() -> None:
    tank = '[neighbours.tank]\nshape = "box"\nat = [40, -20, 60]\nsize = [40, 40, 40]\nremoval = [0, 0, {way}]\n'
    (finding,) = removals(seen(tank.format(way=-60)))
    # Down to the plate's face at z = 3: 40 - 3 = 37 mm.
    assert finding.measured == pytest.approx(37.0, abs=0.01) and "panel plate" in finding.remedy
    assert not removals(seen(tank.format(way=60)))


def test_what_already_meets_is_a_matter_of_the_gap() -> None:
    block = '[neighbours.block]\nshape = "box"\nat = [40, -40, 60]\nsize = [40, 40, 40]\n'
    place = with_can(block)
    assert not removals(place)
    assert [f for f in found("gap", place) if f.subject == "carried can to block"]


TWO = """
title = "two bodies"
units = "mm"
down = [0, -1, 0]
[faces.tabs]
[faces.tabs.holes]
A = { diameter = 9 }
[faces.block]
body = "BODY"
[faces.block.holes]
B = { diameter = 9 }
"""
PLACES = {"tabs.A": (0.0, 0.0, 0.0), "block.B": (80.0, 0.0, 0.0)}


@pytest.mark.parametrize("body", ["engine", "exhaust"])
def test_a_rigid_bracket_between_two_bodies_fails(body: str) -> None:
    plate = PLATE.replace("tabs.B", "block.B")
    (finding,) = found("two-bodies", seen(plate=plate, site=TWO.replace("BODY", body), places=PLACES))
    assert finding.level is Level.FAIL and finding.subject == f"chassis and {body}"
    assert not found("two-bodies", seen(plate=plate, site=TWO.replace("BODY", "chassis"), places=PLACES))


def test_what_is_carried_counts_as_a_body_too() -> None:
    assert not found("two-bodies", with_can(""))
    site = SITE + CARRIED.replace("mass = 1", 'mass = 1\nbody = "engine"') + CAN
    (finding,) = found("two-bodies", seen(plate=CARRYING, site=site))
    assert finding.subject == "chassis and engine"


def test_two_fixed_feet_on_one_exhaust_fail() -> None:
    """The pipe grows between them."""
    site = TWO.replace("[faces.tabs]\n", '[faces.tabs]\nbody = "exhaust"\n').replace("BODY", "exhaust")
    plate = PLATE.replace("tabs.B", "block.B")
    (finding,) = found("two-bodies", seen(plate=plate, site=site, places=PLACES))
    assert finding.subject == "tabs and block" and "grows" in finding.remedy
