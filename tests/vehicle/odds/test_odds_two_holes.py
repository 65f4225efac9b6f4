"""Two holes, two bolts: the closed form against printed tables and plain sums, and the many builds against it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from placed_parts import exact_scatter, plate_on_two_studs
from two_holes import play_mm, two_hole_share

from bracketgen.vehicle.odds.draws import Distribution, Spread, draw_builds
from bracketgen.vehicle.odds.odds import OddsDepth, odds_of_fit


def test_play_is_half_the_room_and_adds_up_for_clear_old_holes() -> None:
    # The worked figures of the fastener formulas: fixed H - F, floating twice that, both to each side by half.
    assert play_mm(9.0, 8.0) == 0.5
    assert play_mm(9.0, 8.0, 9.0) == 1.0
    assert play_mm(8.4, 8.0, 10.0) == pytest.approx(1.2)
    with pytest.raises(ValueError, match="doesn't go through"):
        play_mm(7.9, 8.0)


@pytest.mark.parametrize(
    ("z", "inside"),
    # Table of the normal distribution, share within z standard deviations, as printed in any textbook.
    [(0.0, 0.0), (0.6745, 0.5), (1.0, 0.682689), (1.644854, 0.9), (1.959964, 0.95), (2.575829, 0.99), (3.0, 0.997300)],
)
def test_share_follows_the_normal_table(z: float, inside: float) -> None:
    assert two_hole_share(0.4 * z, 0.4) == pytest.approx(inside, abs=2e-5)


def test_an_offset_shifts_and_an_even_spread_convolves() -> None:
    play, sigma, limit, offset = 0.7, 0.25, 0.5, 0.2
    even = offset + limit * (2 * (np.arange(200_000) + 0.5) / 200_000 - 1)
    # Average of the normal answer over the even part, by plain summation.
    cells = np.linspace(-6, 6, 24_001)
    density = np.exp(-0.5 * cells**2) / np.sqrt(2 * np.pi)
    below = np.cumsum(density) * (cells[1] - cells[0])
    answer = np.interp((play - even) / sigma, cells, below) - np.interp((-play - even) / sigma, cells, below)
    assert two_hole_share(play, sigma, limit, offset) == pytest.approx(float(answer.mean()), abs=1e-4)


def test_ends_of_the_range() -> None:
    assert two_hole_share(0.5, 0.0) == 1.0
    assert two_hole_share(0.5, 0.0, offset_mm=0.6) == 0.0
    assert two_hole_share(0.5, 0.0, limit_mm=1.0) == pytest.approx(0.5)
    assert two_hole_share(0.5, 0.3, limit_mm=1e-9) == pytest.approx(two_hole_share(0.5, 0.3), abs=1e-9)
    with pytest.raises(ValueError, match="0 or more"):
        two_hole_share(-0.1, 0.3)


@pytest.mark.parametrize(("play", "sigma"), [(0.5, 0.2), (0.5, 0.5), (0.2, 0.3), (1.0, 0.274), (0.1, 0.5)])
def test_many_builds_agree_with_the_closed_form(play: float, sigma: float) -> None:
    """Each hole unsure by sigma along every axis: their distance by sigma times the root of 2."""
    scene = plate_on_two_studs(90.0, play, sigma, exact_scatter())
    odds = odds_of_fit(scene.placed, scene.located, scene.flat, scene.practice, seed=7, depth=OddsDepth.SHARE)
    wanted = two_hole_share(2 * play, sigma * 2**0.5)
    assert odds.share.value == pytest.approx(wanted, abs=4 * (wanted * (1 - wanted) / 20_000) ** 0.5 + 0.002)
    assert odds.undecided == 0


def test_many_builds_agree_when_the_holes_are_cut_off_place_and_the_tab_is_misread() -> None:
    practice = replace(exact_scatter(), hole_place_mm=Spread(0.2, Distribution.SIGMA))
    scene = plate_on_two_studs(70.0, 0.4, 0.25, practice)
    a, b = scene.placed.bolts
    moved = replace(b, wanted=(b.wanted[0] + 0.5, b.wanted[1], b.wanted[2]))
    odds = odds_of_fit(
        replace(scene.placed, bolts=(a, moved)), scene.located, scene.flat, practice, depth=OddsDepth.SHARE
    )
    wanted = two_hole_share(0.8, (2 * 0.25**2 + 2 * 0.2**2) ** 0.5, offset_mm=0.5)
    assert odds.share.value == pytest.approx(wanted, abs=0.012)


def test_a_plate_that_is_to_fit_in_99_of_100_builds() -> None:
    """M8 in 9 mm holes on tapped tabs: 1 mm of play together is 2.576 standard deviations of 0.388 mm."""
    play = play_mm(9.0, 8.0)
    sigma = 2 * play / 2.575829 / 2**0.5
    scene = plate_on_two_studs(120.0, play, sigma, exact_scatter())
    odds = odds_of_fit(scene.placed, scene.located, scene.flat, scene.practice, seed=3, depth=OddsDepth.SHARE)
    assert odds.share.value == pytest.approx(0.99, abs=0.004)
    assert odds.share.low <= 0.99 <= odds.share.high


def test_a_slot_toward_the_other_hole_takes_the_error() -> None:
    scene = plate_on_two_studs(90.0, 0.2, 0.5, exact_scatter())
    a, b = scene.placed.bolts
    slots = {}
    for name, axis in (("along", (1.0, 0.0, 0.0)), ("square", (0.0, 1.0, 0.0))):
        placed = replace(scene.placed, bolts=(a, replace(b, slot_play_mm=1.5, slot_axis=axis)))
        slots[name] = odds_of_fit(placed, scene.located, scene.flat, scene.practice, depth=OddsDepth.SHARE).share.value
    assert slots["along"] == pytest.approx(two_hole_share(0.4 + 1.5, 0.5 * 2**0.5), abs=0.006)
    # Square to the line of the holes it gives next to nothing: the plate turns that way by itself.
    round_holes = two_hole_share(0.4, 0.5 * 2**0.5)
    assert round_holes - 0.01 <= slots["square"] <= round_holes + 0.04


@pytest.mark.parametrize("slot_deg", [70.0, 110.0])
def test_a_slot_turns_along_with_its_plate(slot_deg: float) -> None:
    """Every turn of the plate tried one by one, on paper: far along an oblique slot, its own turn counts."""
    scene = plate_on_two_studs(30.0, 0.2, 0.5, exact_scatter(100.0))
    a, b = scene.placed.bolts
    moved = replace(b, wanted=(b.wanted[0] + 1.0, b.wanted[1] + 2.0, b.wanted[2]))
    way = (float(np.cos(np.radians(slot_deg))), float(np.sin(np.radians(slot_deg))), 0.0)
    placed = replace(scene.placed, bolts=(a, replace(moved, slot_play_mm=4.0, slot_axis=way)))
    parts, mates, _ = draw_builds(placed, scene.located, scene.flat, scene.practice, 1, 4_000).holes()
    # Each place on paper is good to half a step of the turn: 15 thousandths of a millimetre.
    between = (parts[:, 1] - parts[:, 0])[:, :2]
    wanted = (mates[:, 1] - mates[:, 0])[:, :2]
    least = np.full(len(parts), np.inf)
    for turn in np.linspace(-0.5, 0.5, 1001):
        c, s = np.cos(turn), np.sin(turn)
        off = between @ np.array([[c, s], [-s, c]]) - wanted
        u = np.array([c * way[0] - s * way[1], s * way[0] + c * way[1]])
        along, across = off @ u, off @ np.array([-u[1], u[0]])
        least = np.minimum(least, np.hypot(along - np.clip(along, -4.0, 4.0), across))
    on_paper = float((least <= 0.4).mean())
    odds = odds_of_fit(placed, scene.located, scene.flat, scene.practice, builds=4_000, depth=OddsDepth.SHARE)
    assert 0.2 < on_paper < 0.92
    assert odds.share.value == pytest.approx(on_paper, abs=0.006)
