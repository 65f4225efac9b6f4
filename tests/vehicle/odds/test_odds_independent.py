"""The odds against an independent workshop that measures, cuts, bends and tries on, on parts made by chance."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from independent_builds import share_of_builds
from placed_parts import as_told, exact_scatter, plate_on_two_studs, random_scene
from two_holes import two_hole_share

from bracketgen.vehicle.odds.odds import OddsDepth, odds_of_fit

#: Of the first 60 parts by chance, those whose odds are neither sure nor next to nothing.
SCENES = [
    0, 2, 3, 4, 6, 8, 9, 11, 14, 20, 21, 22, 24, 25, 27, 29, 31, 32, 33, 35, 36, 38, 41, 44, 45, 46, 47, 48, 50, 51,
    52, 58, 59,
]  # fmt: skip
#: Some of them every day, all of them in the sweep.
DAILY = (0, 29, 46, 52)
#: Points of 100 by which the two may differ.
POINTS = 2.0


@pytest.mark.parametrize("seed", [pytest.param(s, marks=[] if s in DAILY else pytest.mark.sweep) for s in SCENES])
def test_odds_agree_with_the_independent_workshop(seed: int) -> None:
    scene = random_scene(seed)
    odds = odds_of_fit(scene.placed, scene.located, scene.flat, scene.practice, seed=seed, depth=OddsDepth.SHARE)
    built = share_of_builds(as_told(scene), seed + 1000, 8_000)
    assert abs(odds.share.value - built) * 100 <= POINTS
    assert odds.undecided <= 20


def test_the_scenes_ask_something() -> None:
    scenes = [random_scene(seed) for seed in SCENES]
    assert len(scenes) >= 30
    assert sum(len(s.flat.strips) > 0 for s in scenes) >= 20
    assert sum(any(b.slot_axis is not None for b in s.placed.bolts) for s in scenes) >= 10
    assert sum(any(b.mate.startswith("carried.") for b in s.placed.bolts) for s in scenes) >= 5


def test_the_independent_workshop_knows_the_closed_form_too() -> None:
    scene = plate_on_two_studs(90.0, 0.3, 0.35, exact_scatter())
    wanted = two_hole_share(0.6, 0.35 * math.sqrt(2.0))
    assert share_of_builds(as_told(scene), 5, 20_000) == pytest.approx(wanted, abs=0.014)


def test_the_comparison_can_fail() -> None:
    """A workshop with a tenth more play, or one that bends the other way, is noticed."""
    scene = random_scene(33)
    told = as_told(scene)
    odds = odds_of_fit(scene.placed, scene.located, scene.flat, scene.practice, depth=OddsDepth.SHARE).share.value
    looser = {**told, "bolts": [{**b, "play_mm": b["play_mm"] * 1.1} for b in told["bolts"]]}
    assert abs(share_of_builds(looser, 1, 8_000) - odds) * 100 > POINTS
    other = {"up": "down", "down": "up"}
    turned = {**told, "bends": [{**b, "way": other[b["way"]]} for b in told["bends"]]}
    assert share_of_builds(turned, 1, 500) < 0.05


def test_without_any_error_every_build_fits() -> None:
    for seed in range(12):
        scene = random_scene(seed)
        odds = odds_of_fit(scene.placed, None, scene.flat, exact_scatter(), builds=50, depth=OddsDepth.SHARE)
        assert odds.share.value == 1.0
        told = as_told(replace(scene, located=None, practice=exact_scatter()))
        assert share_of_builds(told, seed, 50) == 1.0


def test_the_workshop_draws_what_it_was_told() -> None:
    """The joint covariance of the old holes arrives whole."""
    from independent_builds import true_mates

    told = as_told(random_scene(50))
    mates = true_mates(told, np.random.default_rng(1), 60_000)
    old = [n for n, b in enumerate(told["bolts"]) if not b["carried"]]
    found = np.cov(mates[:, old].reshape(len(mates), -1).T)
    assert np.allclose(found, told["covariance_mm2"], atol=0.02)
