"""What gives between two bodies takes up their travel and the growth at the joint, or the part fails."""

from __future__ import annotations

import math

import pytest
from site_parts import PLATE, SITE, found, seen, site_of
from test_clearance_heat import CARRIED, CARRYING
from test_clearance_service import PLACES, TWO

from bracketgen.errors import InputFaults
from bracketgen.files.site_report import site_block
from bracketgen.findings import Finding, Level
from bracketgen.terminal.site_lines import site_lines
from bracketgen.vehicle.in_place import InPlace

#: Bolted to the chassis at (0, 0, 0) and to the exhaust at (80, 0, 0); the exhaust swings 5, 8 and 8 mm.
ON_EXHAUST = TWO.replace("BODY", "exhaust").replace("[faces.block.holes]", "FLEX\n[faces.block.holes]")
BOLTED = PLATE.replace("tabs.B", "block.B")
#: Held at (-920, 0, 0), so 1000 mm before the joint, straight along x; 20 to 520 degrees C are 500 K.
PIPE = """
[bodies.exhaust]
travel = [5, 8, 8]
[neighbours.pipe]
shape = "pipe"
matter = "exhaust"
body = "exhaust"
points = [[-920, 0, 0], [-920, 0, 100], [300, 0, 100]]
diameter = 50
surface = 520
grows_from = "start"
metal = "430"
gap = 5
"""
#: 1000 mm x 500 K x 11.4e-6 per K.
GROWTH = 5.7


def flexible(stroke: object, more: str = 'matter = "metal"') -> str:
    return f"[faces.block.flexible]\nstroke = {stroke}\n{more}"


def on_exhaust(flex: str, more: str = PIPE) -> InPlace:
    return seen(more, plate=BOLTED, site=ON_EXHAUST.replace("FLEX", flex), places=PLACES)


def two_bodies(place: InPlace) -> list[Finding]:
    return found("two-bodies", place)


# -- the stroke takes up travel and growth


def test_the_growth_at_the_joint_is_one_metre_by_five_hundred_kelvin() -> None:
    (joint,) = site_block(on_exhaust(flexible([20, 20, 20])))["joints"]
    assert joint["growth_mm"] == pytest.approx([GROWTH, 0.0, 0.0], abs=1e-9)
    assert joint["travel_mm"] == [5.0, 8.0, 8.0]
    assert joint["between"][1] == {"at": "block", "body": "exhaust", "gives": True}


@pytest.mark.parametrize("stroke", [[10.7, 8, 8], [10.8, 8.1, 8.1], [50, 50, 50]])
def test_a_stroke_of_travel_and_growth_is_enough(stroke: list[float]) -> None:
    assert not two_bodies(on_exhaust(flexible(stroke)))


@pytest.mark.parametrize(
    ("stroke", "gives", "asked", "along"),
    [
        ([10.6, 8, 8], 10.6, 10.7, "along x"),
        ([5.6, 8, 8], 5.6, 10.7, "along x"),
        ([10.7, 7.9, 8], 7.9, 8.0, "along y"),
        ([10.7, 8, 7.5], 7.5, 8.0, "along z"),
        ([9.7, 8, 5], 5.0, 8.0, "along z"),
    ],
)
def test_a_shorter_stroke_fails_and_says_what_is_missing(
    stroke: list[float], gives: float, asked: float, along: str
) -> None:
    (finding,) = two_bodies(on_exhaust(flexible(stroke)))
    assert finding.level is Level.FAIL and finding.subject == "chassis and exhaust"
    assert finding.measured == pytest.approx(gives) and finding.required == pytest.approx(asked)
    missing = f"{round(asked - gives, 1):g} mm are missing"
    assert along in finding.remedy and missing in finding.remedy
    assert "'pipe' grows (5.7, 0.0, 0.0) mm there" in finding.remedy and "(5.0, 8.0, 8.0)" in finding.remedy


def test_one_length_has_to_hold_whichever_way_it_is_pulled() -> None:
    """All three at once: the diagonal of 10.7, 8 and 8."""
    asked = math.sqrt(10.7**2 + 8.0**2 + 8.0**2)
    assert asked == pytest.approx(15.572, abs=1e-3)
    assert not two_bodies(on_exhaust(flexible(asked)))
    (finding,) = two_bodies(on_exhaust(flexible(15.5)))
    assert finding.measured == 15.5 and finding.required == pytest.approx(asked)
    assert "whichever way it is pulled" in finding.remedy and "0.1 mm are missing" in finding.remedy


def test_another_metal_grows_farther() -> None:
    """Carbon steel: 14.58e-6 per K give 7.29 mm."""
    steel = PIPE.replace('"430"', '"steel"')
    assert not two_bodies(on_exhaust(flexible([12.29, 8, 8]), steel))
    assert two_bodies(on_exhaust(flexible([12.28, 8, 8]), steel))


def test_travel_that_nobody_measured_is_the_usual_one() -> None:
    """The travel table has 15 mm for an exhaust."""
    usual = PIPE.replace("[bodies.exhaust]\ntravel = [5, 8, 8]\n", "")
    assert not two_bodies(on_exhaust(flexible([20.7, 15, 15]), usual))
    assert two_bodies(on_exhaust(flexible([20.6, 15, 15]), usual))


def test_an_exhaust_whose_growth_nobody_knows_fails_whatever_the_stroke() -> None:
    (finding,) = two_bodies(on_exhaust(flexible([500, 500, 500]), ""))
    assert finding.level is Level.FAIL and "nothing says how far 'exhaust' grows" in finding.remedy
    cold = PIPE.replace('grows_from = "start"\n', "")
    assert two_bodies(on_exhaust(flexible([500, 500, 500]), cold))


def test_two_that_give_add_up() -> None:
    both = ON_EXHAUST.replace("[faces.tabs]\n", '[faces.tabs]\nflexible = { stroke = SOFT, matter = "metal" }\n')

    def with_(soft: object, other: object) -> list[Finding]:
        site = both.replace("SOFT", str(soft)).replace("FLEX", flexible(other))
        return two_bodies(seen(PIPE, plate=BOLTED, site=site, places=PLACES))

    assert not with_([5, 8, 8], [5.7, 0, 0])
    assert with_([5, 8, 8], [5.6, 0, 0])
    # 10.7 less 8.7 along x and 8 less 8 leave 2 mm for the one that gives whichever way.
    assert not with_([8.7, 8, 8], 2)
    (finding,) = with_([8.7, 8, 8], 1.9)
    assert finding.measured == 1.9 and finding.required == pytest.approx(2.0)


def test_an_engine_on_its_mounts_moves_and_does_not_grow() -> None:
    site = ON_EXHAUST.replace('"exhaust"', '"engine"')
    engine = "[bodies.engine]\ntravel = [4, 6, 6]\n"

    def with_(stroke: list[float]) -> list[Finding]:
        flex = site.replace("FLEX", flexible(stroke))
        return two_bodies(seen(engine, plate=BOLTED, site=flex, places=PLACES))

    assert not with_([4, 6, 6])
    (finding,) = with_([4, 5.9, 6])
    assert finding.subject == "chassis and engine" and "grow" not in finding.remedy.split(";")[0]


def test_two_feet_on_one_exhaust_pass_when_one_gives_the_growth_between_them() -> None:
    """80 mm apart: 80 x 500 x 11.4e-6 = 0.456 mm."""
    site = ON_EXHAUST.replace("[faces.tabs]\n", '[faces.tabs]\nbody = "exhaust"\n')

    def with_(flex: str) -> list[Finding]:
        return two_bodies(seen(PIPE, plate=BOLTED, site=site.replace("FLEX", flex), places=PLACES))

    assert not with_(flexible([0.456, 0, 0]))
    (finding,) = with_(flexible([0.4, 0, 0]))
    assert finding.subject == "tabs and block" and finding.required == pytest.approx(0.456)
    (rigid,) = with_("")
    assert rigid.subject == "tabs and block" and "(0.5, 0.0, 0.0) mm" in rigid.remedy


def test_what_is_carried_may_hang_on_rubber() -> None:
    """Its rod takes hold at (40, -40, 20) of the site: own (30, 0, -17), the plate's face being at z = 3."""
    place = '\nbody = "exhaust"\nflexible = { stroke = STROKE, matter = "metal", at = [30, 0, -17] }\n'
    site = SITE + CARRIED.replace("\nmass = 1", "\nmass = 1" + place)
    share = 500 * 11.4e-6

    def with_(stroke: list[float]) -> InPlace:
        return seen(PIPE, plate=CARRYING, site=site.replace("STROKE", str(stroke)))

    asked = [5 + 960 * share, 8 + 40 * share, 8 + 20 * share]
    roomy = with_([20, 20, 20])
    (joint,) = site_block(roomy)["joints"]
    assert joint["growth_mm"] == pytest.approx([960 * share, 40 * share, 20 * share], abs=1e-3)
    assert not two_bodies(with_([round(a + 0.001, 3) for a in asked]))
    assert two_bodies(with_([round(asked[0] - 0.001, 3), 20, 20]))
    (line,) = [s for s in site_lines(roomy) if s.split()[:2] == ["tabs", "carried"]]
    assert "5, 8, 8" in line and "5.5, 0.2, 0.1" in line and "along x" in line


# -- how the part then moves


def test_the_part_moves_with_the_body_where_nothing_gives() -> None:
    """Its first bolt goes to the engine through rubber, its second one firmly to the chassis."""
    site = ON_EXHAUST.replace('"exhaust"', '"engine"').replace("FLEX", flexible([30, 30, 30]))
    plate = PLATE.replace('"tabs.A"', '"block.B"').replace('"tabs.B"', '"tabs.A"')
    places = {"tabs.A": (80.0, 0.0, 0.0), "block.B": (0.0, 0.0, 0.0)}
    ceiling = '[neighbours.floor]\nshape = "wall"\nat = [0, 0, 30]\nnormal = [0, 0, -1]\ngap = 1\n'
    place = seen(ceiling, plate=plate, site=site, places=places)
    assert place.scene.body == "chassis"
    (pair,) = [p for p in place.pairs if p.b == "floor"]
    assert not pair.travel.moves


def test_a_part_on_nothing_but_rubber_moves_as_far_as_the_tightest_lets_it() -> None:
    """A wall 40 mm below the plate's edge at y = -60: 40 less a stroke of 30 leaves the 10 mm that are asked."""
    wall = '[neighbours.tank]\nshape = "wall"\nat = [0, -100, 0]\nnormal = [0, 1, 0]\ngap = 10\n'

    def with_(stroke: object) -> list[Finding]:
        site = SITE.replace("thickness = 5\n", f"thickness = 5\nflexible = {{ stroke = {stroke} }}\n")
        return found("gap", seen(wall, site=site))

    assert not with_([0, 30, 0]) and not with_(30)
    (finding,) = with_([0, 30.1, 0])
    assert finding.measured == pytest.approx(9.9, abs=1e-3)


# -- what it stands


def heat_at_joint(more: str) -> list[Finding]:
    return [f for f in found("heat", on_exhaust(flexible([20, 20, 20], more))) if "gives" in f.subject]


def test_rubber_beside_an_exhaust_has_to_stand_what_it_sits_on() -> None:
    """ASTM D2000: EPDM is type C, 125 degrees C; the worst class is A, 70 degrees C."""
    assert not heat_at_joint('compound = "EPDM"\nsurface = 125')
    (finding,) = heat_at_joint('compound = "EPDM"\nsurface = 126')
    assert finding.measured == 126 and finding.required == 125 and finding.subject == "what gives at block"
    assert not heat_at_joint("surface = 70")
    assert heat_at_joint("surface = 71")
    assert not heat_at_joint("limit = 200\nsurface = 200")
    assert not heat_at_joint('matter = "metal"')


def test_how_hot_it_gets_has_to_be_known() -> None:
    (finding,) = heat_at_joint('compound = "VMQ"')
    assert finding.level is Level.FAIL and "nothing says how hot" in finding.remedy


# -- what is written wrong


@pytest.mark.parametrize(
    ("text", "what", "cure"),
    [
        ("flexible = { limit = 125 }", "lacks the key 'stroke'", "add stroke: how far it gives"),
        ("flexible = { stroke = [0, 0, 0] }", "a stroke of zeros gives nowhere", "leave 'flexible' out"),
        ("flexible = { stroke = 0 }", "too small", ""),
        ("flexible = { stroke = [5, -1, 5] }", "too small", ""),
        ("flexible = { stroke = [5, 5] }", "three values", ""),
        ('flexible = { stroke = "soft" }', "soft", ""),
        ("flexible = { strok = 5, stroke = 5 }", "the key 'strok' is not known here", "did you mean 'stroke'?"),
        ('flexible = { stroke = 5, matter = "ruber" }', "'ruber' is not known here", "did you mean 'rubber'?"),
        ("flexibel = { stroke = 5 }", "the key 'flexibel' is not known here", "did you mean 'flexible'?"),
    ],
)
def test_faults_are_told_at_their_place(text: str, what: str, cure: str) -> None:
    site = SITE.replace("thickness = 5", text)
    with pytest.raises(InputFaults) as caught:
        site_of(site)
    (fault,) = caught.value.faults
    assert what in fault.what and cure in fault.cure
    assert fault.place.line == 1 + site.splitlines().index(text)


@pytest.mark.parametrize(
    ("more", "what"),
    [('compound = "EPMD"', "unknown compound 'EPMD'"), ('matter = "metal"\ncompound = "EPDM"', "metal")],
)
def test_a_compound_is_one_of_the_table(more: str, what: str) -> None:
    with pytest.raises(InputFaults) as caught:
        on_exhaust(flexible([20, 20, 20], more))
    (fault,) = caught.value.faults
    assert what in fault.what and fault.place.line > 1
