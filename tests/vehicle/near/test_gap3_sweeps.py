"""Many solids that move step by step: the same answers as asking pair by pair and step by step."""

from __future__ import annotations

import math

import numpy as np
import pytest
from solids_in_space import BOWS, PLATES, moved, random_solid, vector

from bracketgen.geometry.space import Frame
from bracketgen.vehicle.near.gap import Bodies, gap, gaps_at, least_gaps
from bracketgen.vehicle.near.solids import Capsule, Drum, Gap3, Plate, Solid, Wall

PART: tuple[Solid, ...] = (PLATES[1], moved(BOWS[0], Frame((-20, 15, 4.5))), Drum((-35, 0, -12), (-35, 0, 9), 6.0))
CLOSE = 3e-6


def surroundings(seed: int) -> list[Solid]:
    """Solids around the part, all kinds."""
    rng = np.random.default_rng(seed)
    kinds = ("Capsule", "Drum", "Block", "Plate", "Bow", "Capsule")
    return [*(moved(random_solid(k, rng), Frame((0.0, 0.0, 190.0))) for k in kinds), Wall((0, 0, -60), (0, 0, 1))]


def moves(seed: int, steps: int = 7) -> list[Frame]:
    """Small shifts and turns."""
    rng = np.random.default_rng(seed)
    shifts = [Frame(vector(rng.uniform(-30, 30, 3))) for _ in range(steps)]
    return [*shifts, *(Frame.about_x(rng.uniform(-9, 9), vector(rng.uniform(-9, 9, 3))) for _ in range(steps))]


def mm(found: list[Gap3 | None]) -> list[float]:
    return [math.nan if g is None else g.mm for g in found]


@pytest.mark.parametrize("seed", range(4))
def test_standing_still_the_least_of_all_pairs_counts(seed: int) -> None:
    others = surroundings(seed)
    asked = [(i, j, j) for i in range(len(PART)) for j in range(len(others))]
    found = least_gaps(Bodies.of(PART), Bodies.of(others), asked, len(others))
    assert mm(found) == pytest.approx([min(gap(p, o).mm for p in PART) for o in others], abs=CLOSE)


def test_every_pair_on_demand() -> None:
    others = surroundings(9)
    asked = [(i, j, j * len(PART) + i) for j in range(len(others)) for i in range(len(PART))]
    found = least_gaps(Bodies.of(PART), Bodies.of(others), asked, len(asked))
    assert mm(found) == pytest.approx([gap(p, o).mm for o in others for p in PART], abs=CLOSE)


@pytest.mark.parametrize("seed", range(3))
def test_sweeps_are_the_least_of_all_steps(seed: int) -> None:
    others = surroundings(seed)
    steps = [moves(seed + k) for k in range(len(others))]
    asked = [(i, j, j) for i in range(len(PART)) for j in range(len(others))]
    found = least_gaps(Bodies.of(PART), Bodies.of(others, steps), asked, len(others))
    for other, frames, least in zip(others, steps, found, strict=True):
        each = least_by_hand([other], frames)
        assert least is not None and least.mm == pytest.approx(min(each), abs=CLOSE)
        # The points are those of the step where it is.
        assert np.linalg.norm(np.subtract(least.here, least.there)) == pytest.approx(abs(least.mm), abs=1e-5)
        there = moved(other, frames[int(np.argmin(each))])
        assert gap(Capsule(least.there, least.there, 1e-9), there).mm == pytest.approx(0.0, abs=1e-5)


def least_by_hand(solids: list[Solid], frames: list[Frame]) -> list[float]:
    """The least gap at every step, pair by pair."""
    return [min(gap(p, moved(s, f)).mm for p in PART for s in solids) for f in frames]


def test_the_gap_at_each_step() -> None:
    pipe: list[Solid] = [Capsule((-60, 40, 30), (0, 40, 30), 8.0), Capsule((0, 40, 30), (60, 70, 50), 8.0)]
    frames = [Frame((0.0, 0.0, -float(k))) for k in range(12)]
    assert mm(gaps_at(Bodies.of(PART), pipe, frames)) == pytest.approx(least_by_hand(pipe, frames), abs=CLOSE)


def test_a_pipe_that_comes_closer_by_a_millimetre_a_step() -> None:
    """By hand: 30 - 8 above the sheet's face at first, a millimetre less each step, then into it."""
    sheet = Bodies.of([Plate(Frame(), PLATES[0].outline, (), -4.0, 0.0)])
    frames = [Frame((0.0, 0.0, -float(k))) for k in range(25)]
    found = mm(gaps_at(sheet, [Capsule((-9, 0, 30), (9, 0, 30), 8.0)], frames))
    assert found == pytest.approx([22.0 - k for k in range(25)], abs=1e-6)


def test_walls_move_too() -> None:
    frames = [Frame((0.0, 0.0, 4.0 * k)) for k in range(5)]
    found = mm(gaps_at(Bodies.of(PART[2:]), [Wall((0, 0, -50), (0, 0, 1))], frames))
    assert found == pytest.approx([50 - 12 - 4 * k for k in range(5)])


def test_the_deepest_step_counts_unless_depths_are_left_out() -> None:
    sheet = Bodies.of([Plate(Frame(), PLATES[3].outline, (), -1.5, 0.0)])
    steps = [Frame(), Frame((0.0, 0.0, -12.0)), Frame((0.0, 0.0, -20.5)), Frame((0.0, 0.0, -21.0))]
    rod = Bodies.of([Drum((0, 0, 20), (0, 0, 60), 3.0)], [steps])
    (least,) = least_gaps(sheet, rod, [(0, 0, 0)], 1)
    assert least is not None and least.mm == pytest.approx(-1.0)
    (least,) = least_gaps(sheet, rod, [(0, 0, 0)], 1, depths=False)
    assert least is not None and least.mm == -math.inf


def test_nothing_to_measure() -> None:
    wall = Bodies.of([Wall((0, 0, 0), (0, 0, 1))])
    assert least_gaps(Bodies.of(PART), Bodies.of([]), [], 0) == []
    assert gaps_at(Bodies.of([]), PART, [Frame()]) == [None]
    assert gaps_at(wall, [Wall((0, 0, 9), (0, 0, -1))], [Frame(), Frame()]) == [None, None]
