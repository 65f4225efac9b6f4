"""Outlines: area, length and size of each style, against closed forms worked out by hand."""

from __future__ import annotations

import math

import pytest
from described import plate
from whole_way import whole_way

from bracketgen.bending.flat import Flat

QUARTER = 1 - math.pi / 4  # what a round of radius 1 takes off a square corner
CORNERS = "[[0, 0], [100, 0], [100, 80], [0, 80]]"


def flat(outline: str, *further: str) -> Flat:
    return whole_way(plate(*further, outline=outline)).flat


@pytest.mark.parametrize(
    ("outline", "area", "length"),
    [
        ('shape = "rectangle", width = 100, height = 80', 8000, 360),
        ('shape = "rectangle", width = "4 in", height = "2 1/2 in"', 101.6 * 63.5, 2 * (101.6 + 63.5)),
        (
            'shape = "rectangle", width = 100, height = 80, corner_radius = 10',
            8000 - 400 * QUARTER,
            360 - 80 + 20 * math.pi,
        ),
        # The largest radius that fits: two half rounds.
        (
            'shape = "rectangle", width = 100, height = 80, corner_radius = 40',
            20 * 80 + math.pi * 1600,
            40 + 80 * math.pi,
        ),
        (
            'shape = "rectangle", width = 100, height = 80, chamfer = 10',
            8000 - 4 * 50,
            360 - 80 + 40 * math.sqrt(2),
        ),
        (f'shape = "polygon", corners = {CORNERS}', 8000, 360),
        (f'shape = "polygon", corners = {CORNERS}, corner_radius = 10', 8000 - 400 * QUARTER, 280 + 20 * math.pi),
        # Given clockwise it is the same.
        ('shape = "polygon", corners = [[0, 80], [100, 80], [100, 0], [0, 0]]', 8000, 360),
        # One corner round, one cut off, one left sharp though the others have a radius of 5.
        (
            'shape = "polygon", corner_radius = 5, corners = [{ at = [0, 0], radius = 20 }, '
            "{ at = [100, 0], chamfer = 10 }, { at = [100, 80], radius = 0 }, [0, 80]]",
            8000 - 400 * QUARTER - 50 - 25 * QUARTER,
            360 - (40 - 10 * math.pi) - (20 - 10 * math.sqrt(2)) - (10 - 2.5 * math.pi),
        ),
        # A corner of 60 degrees turns by 120: a round of 10 takes r2 (tan 60 - pi / 3) off it.
        (
            'shape = "polygon", corners = [{ at = [0, 0], radius = 10 }, [100, 0], [50, 86.60254037844386]]',
            100 * 86.60254037844386 / 2 - 100 * (math.sqrt(3) - math.pi / 3),
            300 - 20 * math.sqrt(3) + 10 * math.pi * 2 / 3,
        ),
        # An angle: five corners lose, the hollow one gains.
        (
            'shape = "polygon", corner_radius = 4, corners = [[0, 0], [60, 0], [60, 20], [20, 20], [20, 60], [0, 60]]',
            2000 - 4 * 16 * QUARTER,
            240 - 6 * (8 - 2 * math.pi),
        ),
        ('shape = "disc", diameter = 120', math.pi * 3600, 120 * math.pi),
    ],
)
def test_area_and_length(outline: str, area: float, length: float) -> None:
    made = flat(outline)
    assert made.area_mm2 == pytest.approx(area, abs=1e-8)
    assert made.cut_length_mm == pytest.approx(length, abs=1e-8)


def test_a_ring_has_two_edges() -> None:
    made = flat('shape = "disc", diameter = 120, inside = 60, at = [10, 20]')
    assert made.area_mm2 == pytest.approx(math.pi * (3600 - 900))
    assert made.pierces == 2
    assert made.bounds_mm == pytest.approx((-50, -40, 70, 80))


@pytest.mark.parametrize(
    ("origin", "left", "x0"),
    [("left", "", 0), ("middle", "", -50), ("right", "", -100), ("middle", ", left = 7", 7)],
)
def test_where_x_is_zero(origin: str, left: str, x0: float) -> None:
    text = plate(outline=f'shape = "rectangle", width = 100, height = 80{left}')
    made = whole_way(text.replace("[panels.base]", f'[panels.base]\norigin = "{origin}"')).flat
    assert made.bounds_mm == pytest.approx((x0, 0, x0 + 100, 80))


# -- pads around holes


def pads(*radii_at: tuple[float, float, float]) -> str:
    return ", ".join(f"{{ at = [{x}, {y}], radius = {r} }}" for x, y, r in radii_at)


def test_a_belt_runs_around_its_pads_on_straight_tangents() -> None:
    # Radii 20 and 10, 50 apart: each tangent is L = sqrt(50^2 - 10^2) long, turned by phi = asin 10/50.
    tangent, phi = math.sqrt(2400), math.asin(0.2)
    made = flat(f'shape = "belt", pads = [{pads((0, 0, 20), (50, 0, 10))}]')
    assert made.area_mm2 == pytest.approx(30 * tangent + 400 * (math.pi / 2 + phi) + 100 * (math.pi / 2 - phi))
    assert made.cut_length_mm == pytest.approx(2 * tangent + 20 * (math.pi + 2 * phi) + 10 * (math.pi - 2 * phi))


def test_a_pad_is_as_large_as_the_hole_the_panel_or_the_bolt_says() -> None:
    hole = "[[panels.base.holes]]\nbolt = 'M8'\nat = [{}, 0]\n{}"
    own = flat('shape = "belt"', hole.format(0, "pad = 14"), hole.format(40, "pad = 14"))
    assert own.bounds_mm == pytest.approx((-14, -14, 54, 14))
    common = whole_way(plate(hole.format(0, ""), hole.format(40, ""), outline='shape = "belt"').replace(
        "[panels.base]", "[panels.base]\npad = 15"
    )).flat  # fmt: skip
    assert common.bounds_mm == pytest.approx((-15, -15, 55, 15))
    # Twice the hole of 9 is more than the washer of 16 (ISO 7089) and 1 beyond it, or 1.2 holes of EN 1993-1-8.
    usual = flat('shape = "belt"', hole.format(0, ""), hole.format(40, ""))
    assert usual.bounds_mm == pytest.approx((-18, -18, 58, 18))


def arms_area(fillet: float) -> float:
    """Two pads of 12, 60 apart, an arm of 10 between their middles, each hollow corner rounded."""
    half_bar = 5 * math.sqrt(119) + 144 * math.asin(5 / 12)  # what one pad shares with the arm
    sharp = 2 * math.pi * 144 + 600 - 2 * half_bar
    # Round of radius f in the corner: its middle M stands at y = 5 + f, 12 + f from the pad's middle.
    x, y = math.sqrt((12 + fillet) ** 2 - (5 + fillet) ** 2), 5 + fillet
    corner = [(0.0, 0.0), (math.sqrt(119), 5.0), (x, 5.0), (x, y)]
    area = abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(corner, corner[1:] + corner[:1], strict=True))) / 2
    pad_sector = 72 * (math.atan2(y, x) - math.asin(5 / 12))
    round_sector = fillet**2 / 2 * math.acos(y / (12 + fillet))
    return sharp + 4 * (area - pad_sector - round_sector)


@pytest.mark.parametrize("fillet", [0.0, 3.0, 5.0])
def test_arms_join_pads_with_rounded_hollows(fillet: float) -> None:
    made = flat(f'shape = "arms", arm = 10, fillet = {fillet}, pads = [{pads((0, 0, 12), (60, 0, 12))}]')
    assert made.area_mm2 == pytest.approx(arms_area(fillet), abs=1e-8)


def test_arms_run_from_a_hub() -> None:
    # Four arms of 10 from a hub of 20: what each has beyond the hub, and a pad at its end, without fillets.
    star = pads((50, 0, 5), (-50, 0, 5), (0, 50, 5), (0, -50, 5))
    made = flat(f'shape = "arms", arm = 10, fillet = 0, hub = [0, 0], hub_radius = 20, pads = [{star}]')
    hub_and_arm = (5 * math.sqrt(375) + 400 * math.asin(0.25)) - 0.0
    end = math.pi * 25 / 2  # a pad as wide as the arm adds half a round beyond its end
    assert made.area_mm2 == pytest.approx(math.pi * 400 + 4 * (500 - hub_and_arm + end))


def test_arms_from_pad_to_pad_close_a_window() -> None:
    # The last pad is the first once more: three arms around a hole in the middle.
    ring = pads((0, 0, 10), (100, 0, 10), (50, 80, 10), (0, 0, 10))
    made = flat(f'shape = "arms", arm = 8, fillet = 2, pads = [{ring}]')
    assert made.pierces == 2


# -- corners


def test_sharp_outer_corners_get_the_radius_of_the_part() -> None:
    made = whole_way(plate().replace("outer = 0", 'outer = "2 mm"')).flat
    assert made.area_mm2 == pytest.approx(8000 - 16 * QUARTER)


def test_a_radius_of_one_millimetre_is_usual() -> None:
    made = whole_way(plate().replace("[corners]\nouter = 0\n", "")).flat
    assert made.area_mm2 == pytest.approx(8000 - 4 * QUARTER)


def test_corners_without_room_are_made_smaller_and_told() -> None:
    # Two rounds of 4 have no room on a side of 3.
    made = whole_way(plate(outline='shape = "rectangle", width = 100, height = 3').replace("outer = 0", "outer = 4"))
    assert {(r.rule, r.required) for r in made.job.remarks} == {("radius-reduced", 4)}
    assert all(r.measured is not None and 0 < r.measured < 4 for r in made.job.remarks)
    assert len(made.job.remarks) >= 2
