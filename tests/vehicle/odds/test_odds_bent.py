"""Where holes come out when bends are off: exact fold against an outsider, fast model against the exact fold."""

from __future__ import annotations

import math

import numpy as np
import pytest
from independent_builds import holes_of
from parts import l_part, round_hole, stock
from placed_parts import BoltSpec, Scene, as_told, flat_of, placed_part, random_scene

from bracketgen.part.part import Way
from bracketgen.vehicle.odds.draws import (
    BendError,
    ShopScatter,
    Spread,
    bent_holes,
    exact_places,
    model_error_mm,
    usual_scatter,
    variables_of,
)
from bracketgen.vehicle.seating.bolts import Touching

WIDE = ShopScatter(Spread(3.0), Spread(0.08), Spread(0.5), Spread(0.2), Spread(0.0), 1.0, 0.1)


def outsider(scene: Scene, off: np.ndarray) -> np.ndarray:
    """The same builds by the outsider; off (b, v) in the order of the variables."""
    told = as_told(scene)
    n = len(told["bends"])
    errors = {e: np.zeros((len(off), n)) for e in BendError}
    thicker = np.zeros(len(off))
    for column, variable in enumerate(variables_of(scene.placed, WIDE)):
        if variable.error is BendError.THICKNESS:
            thicker = off[:, column]
        else:
            errors[variable.error][:, variable.bend] = off[:, column]
    cut = np.zeros((len(off), len(told["bolts"]), 2))
    return holes_of(told, errors[BendError.TURN], errors[BendError.K_FACTOR], errors[BendError.BEND_LINE], thicker, cut)


def test_the_exact_fold_agrees_with_an_outsider_who_bends_the_flat() -> None:
    bends = 0
    for seed in range(40):
        scene = random_scene(seed)
        variables = variables_of(scene.placed, WIDE)
        off = np.random.default_rng(seed).normal(0.0, 1.0, (6, len(variables))) * [v.spread.value for v in variables]
        exact = np.array([exact_places(scene.placed, scene.flat, variables, row) for row in off])
        assert np.abs(exact - outsider(scene, off)).max() < 1e-9
        bends += len(scene.flat.strips)
    assert bends > 40


def test_the_model_follows_the_exact_fold() -> None:
    """Within the usual spreads to 0.01 mm, on parts of up to three bends and some 250 mm."""
    for seed in range(40):
        scene = random_scene(seed)
        model = bent_holes(scene.placed, scene.flat, usual_scatter())
        off = np.random.default_rng(seed).uniform(-1.0, 1.0, (40, len(model.variables)))
        off *= [v.spread.value for v in model.variables]
        assert model_error_mm(model, scene.placed, scene.flat, off) < 0.01
        assert np.allclose(model.base, [b.at for b in scene.placed.bolts], atol=1e-9)


def test_a_first_order_model_would_not_do() -> None:
    """The check can fail: without its second-order part the model is off by half the play of a close M8 hole."""
    scene = random_scene(46)
    model = bent_holes(scene.placed, scene.flat, WIDE)
    straight = type(model)(model.variables, model.base, model.slope, np.zeros_like(model.curve))
    off = np.array([[v.spread.value for v in model.variables]])
    assert model_error_mm(straight, scene.placed, scene.flat, off) > 0.1
    assert model_error_mm(model, scene.placed, scene.flat, off) < 0.02


@pytest.mark.parametrize("way", [Way.UP, Way.DOWN])
def test_a_square_bend_by_hand(way: Way) -> None:
    """t = 3, R = 3, K = 0.42, turn 90: one degree more and 0.05 more K, by school trigonometry."""
    hole = round_hole("leg/h", 20.0, 60.0, 9.0, "M8")
    part = l_part(base=50.0, leg=80.0, way=way, of=stock(3.0), leg_holes=[hole])
    placed = placed_part(part, [BoltSpec("leg", hole, "tab.a", Touching.FACE)])
    variables = variables_of(placed, WIDE)
    r = 3.0 if way is Way.UP else 6.0
    sign = 1.0 if way is Way.UP else -1.0
    for error, amount in ((BendError.TURN, 1.0), (BendError.K_FACTOR, 0.05), (BendError.BEND_LINE, 0.3)):
        off = np.array([amount if v.error is error else 0.0 for v in variables])
        ((x, y, z),) = exact_places(placed, flat_of(part), variables, off)
        turn = math.radians(91.0 if error is BendError.TURN else 90.0)
        k = 0.47 if error is BendError.K_FACTOR else 0.42
        longer = (math.radians(90.0) * (3.0 + 0.42 * 3.0) - turn * (3.0 + k * 3.0)) / 2
        beside = 0.3 if error is BendError.BEND_LINE else 0.0
        leg = 60.0 + longer - beside
        assert x == pytest.approx(20.0)
        assert y == pytest.approx(50.0 + longer + beside + r * math.sin(turn) + leg * math.cos(turn))
        assert z == pytest.approx(sign * (r * (1 - math.cos(turn)) + leg * math.sin(turn)))


def test_one_degree_on_a_long_leg_is_a_hole_off_by_its_length_over_57() -> None:
    hole = round_hole("leg/h", 20.0, 170.0, 9.0, "M8")
    part = l_part(leg=200.0, leg_holes=[hole])
    placed = placed_part(part, [BoltSpec("leg", hole, "tab.a")])
    variables = variables_of(placed, usual_scatter())
    for band in (-1.0, 1.0):
        off = np.array([band if v.error is BendError.TURN else 0.0 for v in variables])
        moved = np.linalg.norm(exact_places(placed, flat_of(part), variables, off)[0] - placed.bolts[0].at)
        assert moved == pytest.approx(173.0 / 57.3, abs=0.1)
