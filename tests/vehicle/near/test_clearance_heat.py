"""What gets hot: growth of pipes, rubber beside them, what drips on them."""

from __future__ import annotations

import math

import numpy as np
import pytest
from site_parts import PLATE, SITE, found, seen

from bracketgen.errors import InputFaults
from bracketgen.findings import Finding, Level
from bracketgen.geometry.space import Frame
from bracketgen.standards.metals import metal, metal_ids
from bracketgen.standards.vehicle import heat_limit, hot_expansion, worst_expansion, worst_limit
from bracketgen.vehicle.near.drip import HALF_CONE_DEG, Cone, least_beyond
from bracketgen.vehicle.near.motion import growth_mm
from bracketgen.vehicle.near.required import heat_gap_mm, view_share
from bracketgen.vehicle.near.solids import Block, Capsule, Drum, Wall

#: The plate carries a thing on two M6 at (10, -40) and (70, -40), on its face.
CARRYING = (
    PLATE.replace(
        "[site]",
        '[[panels.plate.holes]]\nname = "stud"\nbolt = "M6"\nat = [10, -40]\n'
        'pattern = { kind = "row", count = 2, spacing = 60 }\n[site]',
    )
    + '"plate/stud-1" = "carried.stud-1"\n"plate/stud-2" = "carried.stud-2"\n'
    + '[site.touching]\n"plate/stud-1" = "face"\n"plate/stud-2" = "face"\n'
)
#: Own frame of what is carried: origin on stud 1, x to stud 2, z into the plate; so y points down in the site.
CARRIED = """
[carried]
mass = 1
centre = [30, 0, -30]
at = [10, -40, 3]
normal = [0, 0, -1]
x = [1, 0, 0]
[[carried.holes]]
name = "stud"
bolt = "M6"
pattern = { kind = "row", count = 2, spacing = 60 }
"""


def pipe(y: float, more: str, x0: float = -1000.0) -> str:
    """An exhaust of 50 mm along x, held at x0, its axis 60 mm before the tabs."""
    return f"""
[neighbours.exhaust]
shape = "pipe"
matter = "exhaust"
points = [[{x0}, {y}, 60], [{x0 + 1000}, {y}, 60]]
diameter = 50
gap = 10
grows_from = "start"
{more}
"""


def fails(rule: str, text: str, carried: str = "") -> list[Finding]:
    plate, site = (CARRYING, SITE + CARRIED + carried) if carried else (PLATE, SITE)
    return [f for f in found(rule, seen(text, plate=plate, site=site)) if f.level is Level.FAIL]


# -- growth


def test_a_metre_of_ferritic_pipe_grows_5_7_mm_over_500_kelvin() -> None:
    """11.4e-6 per K is the printed mean of type 430 to 538 degrees C."""
    assert growth_mm(1000.0, 500.0, hot_expansion("430").per_k) == pytest.approx(5.7, abs=0.1)
    place = seen(pipe(-300.0, 'surface = 520\nmetal = "430"'))
    (note,) = found("growth", place)
    assert note.level is Level.NOTE and note.measured == pytest.approx(5.7, abs=0.1)
    growth = place.scene.neighbours[0].growth
    assert growth is not None and growth.end == pytest.approx((5.7, 0.0, 0.0), abs=0.1)


def test_a_carbon_steel_pipe_grows_as_the_pressure_vessel_code_says() -> None:
    """ASME II-D TE-1: 8.1e-6 per degree F to 1000 F; a textbook reading of it is 9.0 in on 100 ft from 70 F."""
    per_k = hot_expansion("steel").per_k
    assert per_k == pytest.approx(8.1e-6 * 1.8)
    assert growth_mm(1200.0, (1000 - 70) / 1.8, per_k) == pytest.approx(9.0, abs=0.1)


def test_hot_figures_are_never_below_the_cold_ones() -> None:
    for name in metal_ids():
        held = metal(name)
        if held.family in ("steel", "stainless"):
            word = name if held.family == "stainless" else "steel"
            assert hot_expansion(word).per_k >= held.expansion_per_k


def test_a_pipe_without_its_metal_counts_as_the_worst() -> None:
    (note,) = found("growth", seen(pipe(-300.0, "surface = 520")))
    assert worst_expansion().metal == "304" and "no metal is given" in note.remedy
    assert note.measured == pytest.approx(500 * 18.7e-6 * 1000)


def test_an_unknown_pipe_metal_is_a_fault_at_its_key() -> None:
    with pytest.raises(InputFaults, match=r"truck.site.toml:\d+:9: unknown pipe metal 'steell'; did you mean 'steel'"):
        seen(pipe(-300.0, 'surface = 520\nmetal = "steell"'))


def test_hot_and_cold_places_are_both_looked_at() -> None:
    """A bent pipe whose leg grows toward the plate's edge: cold it clears, hot it does not; held at the other end,
    it grows away."""
    leg = """
[neighbours.leg]
shape = "pipe"
matter = "exhaust"
points = [[40, -1100, 1.5], [40, -100, 1.5]]
diameter = 50
gap = 10
surface = 520
metal = "430"
grows_from = "start"
"""
    # Round end 25 before -100: 15 mm of gap cold, 9.2 hot (5.7 along, 0.14 of the radius).
    (finding,) = fails("gap", leg)
    assert finding.measured == pytest.approx(15 - 5.7 - 25 * 5.7e-3, abs=0.01) and "pipe hot" in finding.remedy
    assert not fails("gap", leg.replace('"start"', '"end"'))
    assert not fails("gap", leg.replace("surface = 520", "surface = 320"))


@pytest.mark.parametrize("missing", ["grows_from", "surface"])
def test_an_exhaust_pipe_needs_its_held_end_and_its_temperature(missing: str) -> None:
    text = pipe(-300.0, 'surface = 400\nmetal = "430"')
    assert not fails("growth", text) and not fails("heat", text)
    lines = "\n".join(part for part in text.splitlines() if not part.startswith(missing))
    (finding,) = fails("growth" if missing == "grows_from" else "heat", lines)
    assert finding.subject == "exhaust" and missing in finding.remedy


# -- heat


def hose(more: str) -> str:
    return f"""
[carried.things.hose]
shape = "pipe"
matter = "rubber"
points = [[0, 0, -20], [60, 0, -20]]
diameter = 20
{more}
"""


def test_natural_rubber_fails_where_silicone_passes() -> None:
    # Hose at y = -40, z = 23; pipe at y = -140, z = 60: 71.6 mm between the surfaces.
    hot = pipe(-140.0, 'surface = 400\nmetal = "430"')
    (finding,) = fails("heat", hot, hose('compound = "natural rubber"'))
    assert finding.measured == pytest.approx(math.hypot(100, 37) - 25 - 10, abs=0.1)
    assert "shield" in finding.remedy and "70 degrees C" in finding.remedy
    assert not fails("heat", hot, hose('compound = "silicone"'))
    (worst,) = fails("heat", hot, hose(""))
    assert "no compound is given" in worst.remedy and worst.required == finding.required
    assert not fails("heat", hot, hose("limit = 220"))
    # A pipe that stays cooler than the rubber may get does no harm.
    assert not fails("heat", pipe(-140.0, 'surface = 65\nmetal = "430"'), hose(""))


def test_growth_closes_the_gap_to_a_hose() -> None:
    """The same pipe end on: 52 mm clear of the hose when cold, below the 50 that the law of Quebec asks when hot."""
    end = """
[neighbours.tail]
shape = "pipe"
matter = "exhaust"
points = [[40, -1127, 23], [40, -127, 23]]
diameter = 50
gap = 10
surface = 520
metal = "430"
grows_from = "start"
"""
    silicone = hose("limit = 300")
    (finding,) = [f for f in fails("gap", end, silicone) if "hose" in f.subject]
    assert finding.required == 50.0 and "C-24.2" in finding.source
    assert finding.measured == pytest.approx(127 - 40 - 25 - 10 - 5.7 - 0.14, abs=0.02)
    assert not [f for f in fails("gap", end.replace("surface = 520", "surface = 60"), silicone) if "hose" in f.subject]


def test_an_unknown_compound_is_a_fault_with_the_nearest_word() -> None:
    with pytest.raises(InputFaults, match=r"did you mean 'silicone'"):
        fails("heat", pipe(-140.0, "surface = 400"), hose('compound = "silicon"'))


def test_heat_balance_by_hand() -> None:
    """Taken up: 0.9 s F (Th^4 - Ta^4); given off on both sides: 2 (10 (T - Ta) + 0.9 s (T^4 - Ta^4)), s = 5.670e-8."""
    hot, limit, air = 400 + 273.15, 125 + 273.15, 40 + 273.15
    s = 5.670374e-8
    given_off = 2 * (10 * (limit - air) + 0.9 * s * (limit**4 - air**4))
    share = given_off / (0.9 * s * (hot**4 - air**4))
    assert view_share(400.0, 125.0) == pytest.approx(share)
    rod = Capsule((0.0, 0.0, 0.0), (900.0, 0.0, 0.0), 27.0)
    assert heat_gap_mm(rod, 400.0, 125.0) == pytest.approx(27 / share - 27)
    assert heat_gap_mm(rod, 120.0, 125.0) == 0.0
    assert math.isinf(heat_gap_mm(rod, 400.0, 35.0))
    assert math.isinf(heat_gap_mm(Wall((0.0, 0.0, 0.0), (0.0, 0.0, 1.0)), 400.0, 125.0))
    gaps = [heat_gap_mm(rod, 400.0, limit_c) for limit_c in (70.0, 100.0, 125.0, 200.0)]
    assert gaps == sorted(gaps, reverse=True)


def test_limits_of_rubber_follow_the_letters_of_the_standard() -> None:
    """ASTM D2000: A 70, B 100, C 125, D 150, F 200 degrees C."""
    limits = {"NR": 70, "CR": 100, "NBR": 100, "EPDM": 125, "ACM": 150, "VMQ": 200}
    assert {k: heat_limit("rubber", k).limit_c for k in limits} == limits
    assert worst_limit("rubber").limit_c == 70


# -- drips


def filter_(more: str = "removal = [0, 30, 0]") -> str:
    """A filter hanging down: own y points down in the site. Its joint is its upper end, at (40, -45, 43), radius 35."""
    return f"""
[carried.things.filter]
shape = "cylinder"
matter = "fuel"
at = [30, 5, -40]
to = [30, 85, -40]
diameter = 70
gap = 2
{more}
"""


def below(z: float) -> str:
    """A hot pipe along x, 355 below the joint, its axis at z."""
    return f"""
[neighbours.downpipe]
shape = "pipe"
matter = "exhaust"
points = [[-300, -400, {z}], [400, -400, {z}]]
diameter = 50
surface = 400
grows_from = "start"
metal = "430"
gap = 10
"""


def test_a_filter_above_a_hot_pipe_is_told_until_the_pipe_is_outside_the_cone() -> None:
    # At depth h the cone's side stands h tan 30 outside the rim; the pipe's surface touches it when the axis is
    # 25 / cos 30 farther. Growth moves the pipe along x only.
    down = 400.0 - 45.0
    swollen = 25 * (1 + 380 * 11.4e-6)
    edge = 43 + 35 + down * math.tan(math.radians(30)) + swollen / math.cos(math.radians(30))
    assert not fails("drip", below(edge + 1.0), filter_())
    (finding,) = fails("drip", below(edge - 1.0), filter_())
    assert finding.measured == pytest.approx(-math.cos(math.radians(30)), abs=0.02)
    assert "shield" in finding.remedy and finding.subject == "carried filter above downpipe"
    (deep,) = fails("drip", below(43.0), filter_())
    assert deep.measured is not None and deep.measured < finding.measured


def test_which_way_is_down_decides() -> None:
    text = below(43.0)
    up = SITE.replace("down = [0, -1, 0]", "down = [0, 1, 0]")
    aside = SITE.replace("down = [0, -1, 0]", "down = [0, 0, 1]")
    assert fails("drip", text, filter_(""))
    for site in (up, aside):
        place = seen(text, plate=CARRYING, site=site + CARRIED + filter_(""))
        assert not found("drip", place)


def test_only_what_burns_on_what_is_hot_counts() -> None:
    text = below(43.0)
    assert not fails("drip", text, filter_().replace('"fuel"', '"metal"'))
    warm = (
        text.replace('"exhaust"', '"metal"')
        .replace("surface = 400", "surface = 219")
        .replace('grows_from = "start"\n', "")
    )
    assert not fails("drip", warm, filter_())
    assert fails("drip", warm.replace("219", "220"), filter_())


def test_two_neighbours_that_drip_on_each_other_are_a_warning() -> None:
    can = '[neighbours.can]\nshape = "cylinder"\nmatter = "oil"\nat = [40, -100, 200]\nto = [40, -180, 200]\n'
    can += "diameter = 60\ngap = 5\n"
    (finding,) = found("drip", seen(below(200.0) + can))
    assert finding.level is Level.WARN


@pytest.mark.sweep
@pytest.mark.parametrize(
    "solid",
    [
        Capsule((240.0, -300.0, -30.0), (360.0, -350.0, 30.0), 12.0),
        Drum((250.0, -260.0, 0.0), (310.0, -300.0, 60.0), 25.0),
        Block(Frame((200.0, -200.0, 20.0)), (20.0, 30.0, 10.0)),
        Drum((30.0, 10.0, 0.0), (80.0, 40.0, 0.0), 9.0),
    ],
)
def test_the_distance_to_the_cone_by_brute_force(solid: Capsule | Drum | Block) -> None:
    """Points all over the solid against points all over the cone's skin."""
    cone = Cone((0.0, 0.0, 0.0), 30.0, (0.0, -1.0, 0.0))
    rng = np.random.default_rng(3)
    if isinstance(solid, Block):
        skin = np.array(solid.frame.origin) + rng.uniform(-1, 1, (4000, 3)) * np.array(solid.half)
        grow = 0.0
    else:
        a, b = np.array(solid.a), np.array(solid.b)
        axis = (b - a) / np.linalg.norm(b - a)
        across = np.cross(rng.normal(size=(4000, 3)), axis)
        across /= np.linalg.norm(across, axis=1)[:, None]
        r = 0.0 if isinstance(solid, Capsule) else solid.radius
        skin = a + rng.uniform(0, 1, (4000, 1)) * (b - a) + r * across
        grow = solid.radius if isinstance(solid, Capsule) else 0.0
    turn, depth = rng.uniform(-0.6, 0.6, 6000), rng.uniform(0, 600, 6000)
    out = 30 + depth * math.tan(math.radians(HALF_CONE_DEG))
    side = np.stack((out * np.cos(turn), -depth, out * np.sin(turn)), axis=1)
    lid = side * (1, 0, 1) * (rng.uniform(0, 1, (6000, 1)) * 30 / out[:, None])
    shell = np.concatenate((side, lid))
    brute = min(float(np.sqrt(((p - shell) ** 2).sum(axis=1)).min()) for p in skin) - grow
    beyond, _ = least_beyond(cone, solid)
    assert beyond > 0
    assert beyond - 1e-6 <= brute <= beyond + 6.0
