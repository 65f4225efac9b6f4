"""One part against many neighbours: the same answers as asking pair by pair and step by step."""

from __future__ import annotations

import numpy as np
import pytest
from solids_in_space import BOWS, PLATES, moved, random_frame, random_solid, vector

from bracketgen.fit.near.gaps.gap import gap
from bracketgen.fit.near.gaps.solids import Capsule, Drum, Plate, Solid, Wall
from bracketgen.fit.near.gaps.sweep import (
    Move,
    Near,
    Neighbour,
    Per,
    closest_pairs,
    gap_at_each,
    least_gap_over,
    least_gaps_over,
    prepare,
)
from bracketgen.geometry.frame import Frame, Vector

PART: dict[str, Solid] = {
    "plate": PLATES[1],
    "bend": moved(BOWS[0], Frame((-20, 15, 4.5))),
    "bolt": Drum((-35, 0, -12), (-35, 0, 9), 6.0),
}
CLOSE = 3e-6


def out_of_the_way(solid: Solid) -> Solid:
    """The solid well beside the part."""
    return moved(solid, Frame((0.0, 0.0, 190.0)))


def surroundings(seed: int, count: int = 6) -> dict[str, Solid]:
    """Solids around the part, all kinds."""
    rng = np.random.default_rng(seed)
    kinds = ("Capsule", "Drum", "Block", "Plate", "Bow", "Capsule")
    found: dict[str, Solid] = {f"{k} {n}": out_of_the_way(random_solid(k, rng)) for n, k in enumerate(kinds[:count])}
    return found | {"floor": Wall((0, 0, -60), (0, 0, 1))}


def moves(seed: int, steps: int = 7) -> tuple[Move, ...]:
    """Small shifts and turns."""
    rng = np.random.default_rng(seed)
    shifts = [vector(rng.uniform(-30, 30, 3)) for _ in range(steps)]
    turns = [Frame.about_x(rng.uniform(-9, 9), vector(rng.uniform(-9, 9, 3))) for _ in range(steps)]
    return (*shifts, *turns)


def as_frame(move: Move) -> Frame:
    return move if isinstance(move, Frame) else Frame(move)


@pytest.mark.parametrize("seed", range(4))
def test_closest_pairs_are_the_least_of_all_pairs(seed: int) -> None:
    others = surroundings(seed)
    found = closest_pairs(prepare(PART), others)
    assert [n.neighbour for n in found] == list(others)
    for near in found:
        each = {part: gap(mine, others[near.neighbour]).mm for part, mine in PART.items()}
        assert near.gap.mm == pytest.approx(min(each.values()), abs=CLOSE)
        assert each[near.part] == pytest.approx(near.gap.mm, abs=CLOSE)


def test_every_pair_on_demand() -> None:
    others = surroundings(9)
    found = closest_pairs(prepare(PART), others, Per.SOLID_AND_NEIGHBOUR)
    assert [(n.neighbour, n.part) for n in found] == [(o, p) for o in others for p in PART]
    for near in found:
        assert near.gap.mm == pytest.approx(gap(PART[near.part], others[near.neighbour]).mm, abs=CLOSE)


@pytest.mark.parametrize("seed", range(3))
def test_sweeps_are_the_least_of_all_steps(seed: int) -> None:
    neighbours = [Neighbour(name, (s,), moves(seed + k)) for k, (name, s) in enumerate(surroundings(seed).items())]
    for neighbour, near in zip(neighbours, least_gaps_over(prepare(PART), neighbours), strict=True):
        each = least_by_hand(neighbour)
        assert near.gap.mm == pytest.approx(min(each), abs=CLOSE)
        assert each[near.step] == pytest.approx(near.gap.mm, abs=CLOSE)
        assert_points(near, neighbour)


def least_by_hand(neighbour: Neighbour) -> list[float]:
    """The least gap at every step, pair by pair."""
    steps = [as_frame(m) for m in neighbour.moves]
    return [min(gap(p, moved(s, f)).mm for p in PART.values() for s in neighbour.solids) for f in steps]


def assert_points(near: Near, neighbour: Neighbour) -> None:
    """The points are those of the step."""
    solid = moved(neighbour.solids[0], as_frame(neighbour.moves[near.step]))
    alone = gap(PART[near.part], solid)
    assert alone.mm == pytest.approx(near.gap.mm, abs=CLOSE)
    apart = np.linalg.norm(np.subtract(near.gap.here, near.gap.there))
    assert apart == pytest.approx(abs(near.gap.mm), abs=1e-5)


def test_one_least_gap_and_the_gap_at_each_step() -> None:
    pipe = (Capsule((-60, 40, 30), (0, 40, 30), 8.0), Capsule((0, 40, 30), (60, 70, 50), 8.0))
    shifts: list[Vector] = [(0.0, 0.0, -float(k)) for k in range(12)]
    prepared = prepare(PART)
    each = gap_at_each(prepared, pipe, shifts)
    least, step = least_gap_over(prepared, pipe, shifts)
    assert [g.mm for g in each] == pytest.approx(least_by_hand(Neighbour("pipe", pipe, tuple(shifts))), abs=CLOSE)
    assert least.mm == pytest.approx(min(g.mm for g in each), abs=CLOSE)
    assert each[step].mm == pytest.approx(least.mm, abs=CLOSE)


def test_a_pipe_that_comes_closer_by_a_millimetre_a_step() -> None:
    """By hand: 30 - 8 above the sheet's face at first, a millimetre less each step, then into it."""
    sheet = prepare({"sheet": Plate(Frame(), PLATES[0].outline, (), -4.0, 0.0)})
    pipe = (Capsule((-9, 0, 30), (9, 0, 30), 8.0),)
    shifts: list[Vector] = [(0.0, 0.0, -float(k)) for k in range(25)]
    assert [g.mm for g in gap_at_each(sheet, pipe, shifts)] == pytest.approx([22.0 - k for k in range(25)], abs=1e-6)
    least, step = least_gap_over(sheet, pipe, shifts)
    assert (least.mm, step) == (pytest.approx(-2.0), 24)


def test_walls_move_too() -> None:
    wall = (Wall((0, 0, -50), (0, 0, 1)),)
    shifts: list[Vector] = [(0.0, 0.0, 4.0 * k) for k in range(5)]
    least, step = least_gap_over(prepare({"bolt": PART["bolt"]}), wall, shifts)
    assert (least.mm, step) == (pytest.approx(50 - 12 - 16), 4)


def test_a_part_that_meets_says_so_at_the_step_where_it_does() -> None:
    block = random_frame(np.random.default_rng(1), 0.0)
    rod = (Drum((0, 0, 20), (0, 0, 60), 3.0),)
    shifts: list[Vector] = [(0.0, 0.0, 0.0), (0.0, 0.0, -12.0), (0.0, 0.0, -21.0)]
    assert block.origin == (0.0, 0.0, 0.0)
    least, step = least_gap_over(prepare({"plate": Plate(Frame(), PLATES[3].outline, (), -1.5, 0.0)}), rod, shifts)
    assert step == 2 and least.mm == pytest.approx(-1.0)


def test_nothing_to_measure() -> None:
    assert least_gaps_over(prepare(PART), []) == []
    with pytest.raises(ValueError, match="no solids"):
        least_gap_over(prepare(PART), (), ((0.0, 0.0, 0.0),))
    with pytest.raises(ValueError, match="no solids"):
        gap_at_each(prepare(PART), (), ((0.0, 0.0, 0.0),))
