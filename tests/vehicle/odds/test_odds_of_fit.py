"""What the odds of fit say: repeatable, reasons that hold, and refusals."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from placed_parts import exact_scatter, located_at, plate_on_four_tabs, plate_on_two_studs, random_scene
from two_holes import two_hole_share

from bracketgen.standards.deviations import usual_scatter_of
from bracketgen.standards.table import LookupFault
from bracketgen.vehicle.odds.draws import (
    Cause,
    Distribution,
    ShopScatter,
    Spread,
    draw_builds,
    hole_place_spread,
    hole_size_spread,
    usual_scatter,
)
from bracketgen.vehicle.odds.odds import OddsDepth, odds_of_fit, share_of


def test_equal_seeds_give_equal_odds_and_others_do_not() -> None:
    scene = random_scene(9)
    ask = (scene.placed, scene.located, scene.flat, scene.practice)
    first = odds_of_fit(*ask, seed=4, builds=2000)
    assert odds_of_fit(*ask, seed=4, builds=2000) == first
    other = odds_of_fit(*ask, seed=5, builds=2000, depth=OddsDepth.SHARE)
    assert other.share != first.share
    assert other.share.low < first.share.high and first.share.low < other.share.high


def test_a_cause_that_is_alone_is_named_with_all_its_weight() -> None:
    scene = plate_on_two_studs(90.0, 0.3, 0.5, exact_scatter())
    odds = odds_of_fit(scene.placed, scene.located, scene.flat, scene.practice, depth=OddsDepth.CAUSES)
    assert [(c.cause, c.share_without) for c in odds.causes] == [(Cause.READINGS, 1.0)]
    assert odds.decides in ("plate/a", "plate/b")
    assert all(b.share_without == 1.0 for b in odds.bolts)
    assert odds.share_if_shimmed == odds.share.value


def test_causes_are_weighed_as_the_closed_form_does() -> None:
    practice = replace(exact_scatter(), hole_place_mm=Spread(0.3, Distribution.SIGMA))
    scene = plate_on_two_studs(90.0, 0.4, 0.4, practice)
    odds = odds_of_fit(scene.placed, scene.located, scene.flat, practice, depth=OddsDepth.CAUSES)
    without = {c.cause: c.share_without for c in odds.causes}
    assert without[Cause.READINGS] == pytest.approx(two_hole_share(0.8, 0.3 * 2**0.5), abs=0.012)
    assert without[Cause.HOLE_PLACE] == pytest.approx(two_hole_share(0.8, 0.4 * 2**0.5), abs=0.012)
    assert [c.cause for c in odds.causes] == [Cause.READINGS, Cause.HOLE_PLACE]


def test_the_bolt_with_the_unsure_hole_decides() -> None:
    """Three holes on a plate, one of them known badly: only freeing that one helps."""
    scene = random_scene(47)
    assert (len(scene.placed.bolts), len(scene.flat.strips)) == (3, 0)
    unsure = np.diag(np.repeat([0.01, 0.01, 0.9], 3) ** 2)
    odds = odds_of_fit(
        scene.placed, located_at(scene.placed, unsure), scene.flat, exact_scatter(), depth=OddsDepth.CAUSES
    )
    assert odds.decides == scene.placed.bolts[2].part_hole
    assert odds.bolts[0].share_without > 0.999
    assert odds.share.value < 0.9


def test_gaps_under_bolts_count_and_shims_mend_them() -> None:
    """One of four tabs too high by d: a stiff plate shares it out, a quarter of d at every tab."""
    scene = plate_on_four_tabs(exact_scatter(0.5), 2.0)
    odds = odds_of_fit(scene.placed, scene.located, scene.flat, scene.practice, depth=OddsDepth.CAUSES)
    # Within 4 x 0.5 mm lies one standard deviation: 0.6827 by the normal table.
    assert odds.share.value == pytest.approx(0.6827, abs=0.012)
    assert odds.share_if_shimmed == 1.0


def test_old_holes_are_drawn_with_their_joint_covariance() -> None:
    scene = random_scene(50)
    assert scene.located is not None
    draws = draw_builds(scene.placed, scene.located, scene.flat, scene.practice, 3, 60_000)
    found = np.cov(draws.old.reshape(60_000, -1).T)
    assert np.allclose(found, scene.located.covariance, atol=0.02)


def test_spreads_draw_what_they_say() -> None:
    random = np.random.default_rng(1)
    even, bell = Spread(0.6).draw(random, (50_000,)), Spread(0.6, Distribution.SIGMA).draw(random, (50_000,))
    assert np.abs(even).max() <= 0.6 and even.std() == pytest.approx(0.6 / 3**0.5, rel=0.02)
    assert bell.std() == pytest.approx(0.6, rel=0.02) and np.abs(bell).max() > 1.2


def test_cutting_errors_come_from_the_tolerance_class() -> None:
    """ISO 9013 class 1, 3 mm: 0.15 for a 9 mm hole, 0.25 for 125 to 315 mm between holes, half to each."""
    scene = plate_on_two_studs(150.0, 0.5, 0.3, usual_scatter())
    stock = scene.flat.part.stock
    assert hole_size_spread(stock, scene.flat.holes[0].hole) == Spread(0.15)
    assert hole_place_spread(stock, 150.0) == Spread(0.125)
    draws = draw_builds(scene.placed, scene.located, scene.flat, usual_scatter(), 1, 20_000)
    assert np.abs(draws.cut).max() == pytest.approx(0.125, abs=1e-3)
    assert np.abs(draws.play).max() == pytest.approx(0.075, abs=1e-3)


def test_usual_figures_are_those_of_the_table() -> None:
    usual = usual_scatter()
    assert isinstance(usual, ShopScatter)
    assert (usual.turn_deg, usual.k_factor, usual.pull_up_mm) == (Spread(1.0), Spread(0.05), 1.0)
    assert usual_scatter_of("turn").how == "read"
    with pytest.raises(LookupFault, match="turn"):
        usual_scatter_of("turns")


@pytest.mark.parametrize(
    ("hits", "builds", "low", "high"),
    # R. G. Newcombe, Statistics in Medicine 17 (1998), table I, score method without continuity correction (from
    # memory).
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_interval_of_a_share(hits: int, builds: int, low: float, high: float) -> None:
    share = share_of(hits, builds)
    assert (share.low, share.high) == (pytest.approx(low, abs=5e-5), pytest.approx(high, abs=5e-5))
    assert share.low <= share.value <= share.high


def test_refusals() -> None:
    scene = random_scene(33)
    with pytest.raises(ValueError, match="a bolt and a build"):
        odds_of_fit(replace(scene.placed, bolts=()), None, scene.flat)
    with pytest.raises(ValueError, match="a bolt and a build"):
        odds_of_fit(scene.placed, None, scene.flat, builds=0)
    stranger = replace(scene.placed.bolts[0], mate="nowhere.x")
    with pytest.raises(KeyError, match=r"nowhere\.x"):
        odds_of_fit(replace(scene.placed, bolts=(stranger,)), scene.located, scene.flat)
    with pytest.raises(ValueError, match="no share"):
        share_of(3, 2)
