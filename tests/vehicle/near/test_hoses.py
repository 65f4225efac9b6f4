"""Hoses between fittings: shortest ways against figures worked out by hand, limits of the three published rules."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from site_parts import found, seen
from test_clearance_heat import CARRIED, CARRYING

from bracketgen.errors import InputFaults
from bracketgen.findings import Finding, Level
from bracketgen.geometry.space import Vector
from bracketgen.vehicle.hoses import Leaving, shortest_route

X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)


def back(way: Vector) -> Vector:
    return (-way[0], -way[1], -way[2])


def way_mm(a: Vector, way_a: Vector, b: Vector, way_b: Vector, radius: float) -> float:
    route = shortest_route(Leaving(a, way_a), Leaving(b, way_b), radius)
    assert route is not None
    return route.length_mm


# -- shortest ways by hand


def test_straight_across() -> None:
    assert way_mm((0, 0, 0), X, (250, 0, 0), back(X), 60) == pytest.approx(250.0, abs=1e-6)


def test_round_one_corner() -> None:
    """Out along x, in from below: an eighth of a circle at each end, 40 across and 40 up between their centres."""
    expected = 30.0 * math.pi + 40.0 * math.sqrt(2.0)
    assert way_mm((0, 0, 0), X, (100, 100, 0), back(Y), 60) == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize("apart", [120.0, 200.0])
def test_a_u_between_fittings_side_by_side(apart: float) -> None:
    """Both look up: two quarters and what is left between; at two radii exactly half a circle."""
    assert way_mm((0, 0, 0), Z, (apart, 0, 0), Z, 60) == pytest.approx(60.0 * math.pi + apart - 120.0, abs=1e-5)


def test_no_u_below_two_radii() -> None:
    assert shortest_route(Leaving((0, 0, 0), Z), Leaving((119.9, 0, 0), Z), 60) is None


def test_an_offset() -> None:
    """Two arcs of 30 degrees and 50 between: 2 r sin 30 + 50 cos 30 along, 2 r (1 - cos 30) + 50 sin 30 across."""
    t = math.radians(30.0)
    along, across = 120.0 * math.sin(t) + 50.0 * math.cos(t), 120.0 * (1.0 - math.cos(t)) + 50.0 * math.sin(t)
    assert way_mm((0, 0, 0), X, (along, across, 0), back(X), 60) == pytest.approx(120.0 * t + 50.0, abs=1e-6)


def test_out_of_the_plane() -> None:
    """Out along x, round to y over 100, round to z: arcs of 90 degrees in two planes."""
    end = (40.0, 40.0 + 100.0 + 40.0, 40.0)
    assert way_mm((0, 0, 0), X, end, back(Z), 40) == pytest.approx(40.0 * math.pi + 100.0, abs=1e-6)


def spun(v: np.ndarray, axis: np.ndarray, angle: float) -> np.ndarray:
    """Rodrigues."""
    along = axis * (axis @ v)
    return np.asarray(along + math.cos(angle) * (v - along) + math.sin(angle) * np.cross(axis, v))


@given(
    first=st.floats(0.05, 2.0),
    last=st.floats(0.05, 2.0),
    straight=st.floats(5.0, 300.0),
    radius=st.floats(20.0, 120.0),
    twist=st.floats(0.0, 6.2),
)
def test_a_hose_that_was_laid_is_found_to_be_long_enough(
    first: float, last: float, straight: float, radius: float, twist: float
) -> None:
    """Laid piece by piece from its start: the shortest way between its ends is no longer than what was laid."""
    place, way, side = np.zeros(3), np.array(X), np.array(Y)
    for angle, length in ((first, straight), (last, 0.0)):
        axis = np.cross(way, side)
        centre = place + radius * side
        place = centre + spun(place - centre, axis, angle)
        way, side = spun(way, axis, angle), spun(side, axis, angle)
        place = place + length * way
        side = spun(side, way, twist)
    route = shortest_route(Leaving((0, 0, 0), X), Leaving(tuple(place), tuple(-way)), radius)
    assert route is not None
    assert np.linalg.norm(place) - 1e-6 <= route.length_mm <= radius * (first + last) + straight + 1e-6


# -- the three rules at a site

#: Chassis to engine: 200 mm straight across, fittings of 30 and 20 mm, outside 15 mm: 200 - 50 = 150 mm of hose.
HOSE = """
[bodies.engine]
travel = [{travel}]
[hoses.feed]
length = {length}
diameter = 15
bend_radius = 60
from = {{ at = [0, 0, 200], way = [1, 0, 0], fitting = 30 }}
to = {{ at = [200, 0, 200], way = [-1, 0, 0], fitting = 20, body = "engine" }}
"""


def hose_finding(text: str, plate: str | None = None) -> Finding | None:
    place = seen(text) if plate is None else seen(text, plate)
    findings = found("hose", place)
    assert len(findings) <= 1
    return findings[0] if findings else None


#: Still: 150 / 0.95 = 157.895 free. Along x by 20: 170 / 0.96 = 177.083 free.
@pytest.mark.parametrize(
    ("travel", "needed"), [("0, 0, 0", 150.0 / 0.95), ("20, 0, 0", 170.0 / 0.96), ("1, 0, 0", 150.0 / 0.95)]
)
@pytest.mark.parametrize("spare", [-0.01, 0.01])
def test_long_enough_at_rest_and_when_the_engine_moves(travel: str, needed: float, spare: float) -> None:
    finding = hose_finding(HOSE.format(travel=travel, length=50.0 + needed + spare))
    assert (finding is not None) == (spare < 0.0)
    if finding is not None:
        assert finding.level is Level.FAIL
        assert finding.required == pytest.approx(needed, abs=1e-6)
        assert finding.measured == pytest.approx(needed + spare, abs=1e-6)
        assert f"at least {math.ceil(50.0 + needed)} mm long" in finding.remedy
        assert "AC 43.13-1B" in finding.source


def test_which_end_of_the_travel_asks_for_most_is_said() -> None:
    finding = hose_finding(HOSE.format(travel="20, 0, 0", length=200))
    assert finding is not None and "moved by (20.0, 0.0, 0.0)" in finding.remedy


#: Both up, side by side, r 60: at least 120 apart, still or moved.
U_SHAPED = """
[bodies.engine]
travel = [5, 0, 0]
[hoses.feed]
length = 900
diameter = 15
{radius}
from = {{ at = [0, 0, 200], way = [0, 1, 0], fitting = 30 }}
to = {{ at = [{x}, 0, 200], way = [0, 1, 0], fitting = 30, body = "engine" }}
"""


@pytest.mark.parametrize(("x", "kinks"), [(125.01, False), (124.99, True), (119.0, True)])
def test_a_hose_that_kinks(x: float, kinks: bool) -> None:
    finding = hose_finding(U_SHAPED.format(x=x, radius="bend_radius = 60"))
    assert (finding is not None) == kinks
    if finding is not None:
        assert finding.level is Level.FAIL and "it kinks" in finding.remedy
        assert ("moved by (-5.0, 0.0, 0.0)" in finding.remedy) == (x > 120.0)


def test_a_bend_radius_is_never_assumed() -> None:
    finding = hose_finding(U_SHAPED.format(x=400, radius=""))
    assert finding is not None and finding.level is Level.FAIL and "bend_radius" in finding.remedy


LONG = """
[hoses.feed]
length = {length}
diameter = 15
bend_radius = 60
clamps = {clamps}
from = {{ at = [0, 0, 200], way = [1, 0, 0], fitting = 0 }}
to = {{ at = [900, 0, 200], way = [-1, 0, 0], fitting = 0 }}
"""


@pytest.mark.parametrize(
    ("length", "clamps", "far"),
    [
        (1219.0, [], False),  # short of 48 in, 1219.2 mm
        (1219.2, [], True),
        (1219.2, [609.6], False),  # 24 in apart
        (1219.2, [609.5], True),
        (1250.0, [600.0, 1209.7], True),
        (1250.0, [600.0, 1200.0], False),
    ],
)
def test_long_hoses_are_clamped(length: float, clamps: list[float], far: bool) -> None:
    finding = hose_finding(LONG.format(length=length, clamps=clamps))
    assert (finding is not None) == far
    if finding is not None:
        assert finding.level is Level.WARN and finding.required == pytest.approx(609.6)


def test_an_end_on_what_is_carried_goes_with_it() -> None:
    """The carried frame lies at (10, -40, 3), its z into the plate, so its y runs down: 100 mm below is y -140."""
    hose = """
[hoses.return]
length = 400
diameter = 15
bend_radius = 60
from = { at = [0, 100, 0], way = [0, 1, 0], fitting = 0, on = "carried" }
to = { at = [10, -360, 3], way = [0, 1, 0], fitting = 0 }
"""
    place = seen(CARRIED + hose, CARRYING)
    (check,) = place.hoses
    # Down from y -140 to -360, straight: 220 mm, the first and last 30 stay straight.
    assert check.rest_mm == pytest.approx(220.0, abs=1e-6)
    assert check.moved_mm == pytest.approx(220.0, abs=1e-6)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (HOSE.format(travel="0, 0, 0", length=50), "its fittings are as long as the hose"),
        (LONG.format(length=1250, clamps=[700, 600]), "clamps don't lie in order"),
        (LONG.format(length=1250, clamps=[1250]), "clamps don't lie in order"),
        (LONG.format(length=1250, clamps=[]).replace("[-1, 0, 0]", "[0, 0, 0]"), "points nowhere"),
        (LONG.format(length=1250, clamps=[]).replace("fitting = 0 }", 'fitting = 0, on = "carried" }'), "nothing is"),
        (LONG.format(length=1250, clamps=[]).replace("fitting = 0 }", 'fitting = 0, body = "cab" }'), "body 'cab'"),
    ],
)
def test_faulty_hoses_are_told(text: str, words: str) -> None:
    with pytest.raises(InputFaults) as caught:
        seen(text)
    assert words in str(caught.value)
