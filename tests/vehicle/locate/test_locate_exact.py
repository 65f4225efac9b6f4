"""Readings without any error lead back to the true places, whatever kinds they are of."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from random_sites import TrueSite, random_site

from bracketgen.vehicle.locate.locate import locate
from bracketgen.vehicle.locate.network import State, moved
from bracketgen.vehicle.locate.observations import MeasuredOver, edge_shares, predicted
from bracketgen.vehicle.locate.readings import problem_of

#: The bench runs 500 of them.
SEEDS = range(18)


def true_state(site: TrueSite) -> State:
    return State(
        np.array([[hole.uv for face in site.faces.values() for hole in face.holes.values()]]),
        np.array([[face.origin for face in site.faces.values()]]),
        np.array([[face.axes for face in site.faces.values()]]),
    )


@pytest.mark.parametrize("seed", SEEDS)
def test_true_places_come_back(seed: int) -> None:
    site = random_site(seed, 1 + seed % 3, worn=0.3 if seed % 2 else 0.0)
    located = locate(site.site(seed=seed))
    places = np.array([hole.centre for hole in located.holes])
    assert [hole.id for hole in located.holes] == site.names
    assert np.abs(places - site.places).max() < 1e-6
    for face, frame in located.faces.items():
        assert np.abs(np.array([frame.x, frame.y, frame.z]) - site.faces[face].axes.T).max() < 1e-8
    assert not located.loose and not located.mirror and located.suspect is None
    assert max(abs(r.residual) for r in located.residuals) < 1e-6


@pytest.mark.parametrize("seed", range(100, 104))
def test_without_any_hint_it_is_the_site_or_an_image_that_is_named(seed: int) -> None:
    """Square distances and steps carry signs, so that the shape is found without rough places."""
    site = random_site(seed, 1 + seed % 2)
    located = locate(site.site(hints=False))
    places = np.array([hole.centre for hole in located.holes])
    assert np.abs(places - site.places).max() < 1e-6 or located.mirror
    assert max(abs(r.residual) for r in located.residuals) < 1e-6


@pytest.mark.parametrize("seed", range(9))
def test_predictions_and_their_derivatives(seed: int) -> None:
    """At the true places every reading is predicted as it was worked out; derivatives agree with differences."""
    site = random_site(seed, 1 + seed % 3, worn=0.4)
    problem = problem_of(site.site(seed=seed))
    network, state = problem.network, true_state(site)
    value, slope = predicted(network, problem.readings, state)
    assert np.abs(value[0] - problem.readings.measured).max() < 1e-8
    differences = np.zeros_like(slope[0])
    for n in range(network.unknowns):
        step = np.zeros((1, network.unknowns))
        step[0, n] = 1e-4
        ends = [predicted(network, problem.readings, moved(network, state, s))[0][0] for s in (step, -step)]
        differences[:, n] = (ends[0] - ends[1]) / 2e-4
    assert np.abs(differences - slope[0]).max() < 1e-7


@pytest.mark.parametrize("seed", [0, 6, 9])
def test_a_calliper_finds_the_nearest_and_the_farthest_points_of_two_worn_holes(seed: int) -> None:
    """Centre lines of worn holes on one face thrown about near each other; nearest as another library finds it."""
    site = random_site(seed, 1, worn=1.0)
    problem = problem_of(site.site(seed=seed))
    seen, rows = problem.readings.seen, problem.readings.distances
    true, random, sets = true_state(site), np.random.default_rng(seed), 600
    uv = random.uniform(-8.0, 8.0, (sets, *true.uv.shape[1:]))
    state = State(uv, np.repeat(true.origin, sets, axis=0), np.repeat(true.axes, sets, axis=0))
    shares = edge_shares(problem.network, problem.readings, state)
    middles, halves = uv + seen.middle, seen.half
    for over in (MeasuredOver.NEAR, MeasuredOver.FAR):
        measured = np.flatnonzero(rows.edge == over)
        assert len(measured)
        for n in measured:
            a, b = (middles[:, h] + shares[k][:, [n]] * halves[h] for k, h in enumerate((rows.a[n], rows.b[n])))
            ends = [middles[:, h, None] + np.array([[-1.0], [1.0]]) * halves[h] for h in (rows.a[n], rows.b[n])]
            if over is MeasuredOver.NEAR:
                right = shapely.distance(*(shapely.linestrings(e) for e in ends))
            else:
                right = np.linalg.norm(ends[0][:, :, None] - ends[1][:, None], axis=-1).max(axis=(1, 2))
            assert np.linalg.norm(b - a, axis=1) == pytest.approx(right, abs=1e-6)


def test_every_kind_of_reading_takes_part() -> None:
    words = " ".join(r.words for seed in SEEDS for r in random_site(seed, 1 + seed % 3).readings)
    for kind in ("centres", "inner", "outer", "left to left", "pins", '"square"', '"step"', '"tilt"', '"level"'):
        assert kind in words


def test_two_tabs_with_one_hole_each() -> None:
    """The first face has no second hole: x runs to the shadow of the next face's hole."""
    text = """
title = "two tabs"
units = "mm"
[faces.left.holes]
A = { diameter = 8.5 }
[faces.right]
normal = [0.05, 0.05, 1]
[faces.right.holes]
B = { diameter = 8.5 }
[[readings]]
kind = "distance"
from = "left.A"
to = "right.B"
over = "centres"
value = 130
[[readings]]
kind = "step"
hole = "right.B"
face = "left"
value = 50
[[readings]]
kind = "tilt"
faces = ["left", "right"]
value = 0
"""
    from bracketgen.vehicle.site import read_site

    located = locate(read_site(text, "tabs.site.toml", "tabs"))
    assert located.hole("right.B").centre == pytest.approx((120.0, 0.0, 50.0), abs=1e-9)
    assert located.hole("right.B").normal == pytest.approx((0.0, 0.0, 1.0), abs=1e-9)
    assert not located.loose and not located.mirror


def test_the_same_site_gives_the_same_places_to_the_last_digit() -> None:
    site = random_site(5, 3).site(seed=5)
    first, second = locate(site), locate(site)
    assert [h.centre for h in first.holes] == [h.centre for h in second.holes]
    assert np.array_equal(first.covariance, second.covariance)
