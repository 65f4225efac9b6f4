"""The smallest move that gives two solids the gap they need."""

from __future__ import annotations

import math

import numpy as np
import pytest
from solids_in_space import BOWS, PLATES, moved, random_frame, random_solid, random_turn, vector

from bracketgen.fit.near.gaps.gap import gap, gaps
from bracketgen.fit.near.gaps.gap_move import GOOD_MM, smallest_move
from bracketgen.fit.near.gaps.solids import Block, Capsule, Drum, Plate, Solid, Wall
from bracketgen.geometry.contour import Circle, box_contour
from bracketgen.geometry.frame import Frame
from bracketgen.geometry.point import Point

DRILLED = Plate(Frame(), box_contour(-50, -30, 50, 30), (Circle(Point(10, 0), 6.0),), -5.0, 0.0)

#: Name, the solid that moves, the other, the gap wanted, the move.
BY_HAND: dict[str, tuple[Solid, Solid, float, tuple[float, float, float]]] = {
    "sheet down from a pipe": (DRILLED, Capsule((-20, 0, 15), (0, 0, 15), 5.5), 12.0, (0, 0, -2.5)),
    "pipe up from a sheet": (Capsule((-20, 0, 4), (0, 0, 4), 5.5), DRILLED, 6.0, (0, 0, 7.5)),
    "there already": (DRILLED, Capsule((-20, 0, 15), (0, 0, 15), 5.5), 9.5, (0, 0, 0)),
    "boxes": (Block(Frame(), (10, 10, 10)), Block(Frame((15, 3, 2)), (10, 10, 10)), 1.0, (-6, 0, 0)),
    "drums within each other": (Drum((0, 0, -9), (0, 0, 9), 5.0), Drum((3, 0, -50), (3, 0, 50), 5.0), 1.0, (-8, 0, 0)),
    "sheet above a wall": (DRILLED, Wall((0, 0, -3), (0, 0, 1)), 1.0, (0, 0, 3)),
    "wall below a sheet": (Wall((0, 0, -3), (0, 0, 1)), DRILLED, 1.0, (0, 0, -3)),
    "wall from wall": (Wall((0, 0, 0), (0, 0, 1)), Wall((0, 0, 4), (0, 0, -1)), 6.0, (0, 0, -2)),
    "bolt back to the middle of its hole": (Drum((10.3, 0, -20), (10.3, 0, 20), 5.5), DRILLED, 0.4, (-0.2, 0, 0)),
    "plate off a bolt that sits in its metal": (
        DRILLED, Drum((10.9, 0, -20), (10.9, 0, 20), 5.5), 0.3, (0.7, 0, 0),
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", BY_HAND)
def test_by_hand(name: str) -> None:
    a, b, required, move = BY_HAND[name]
    assert smallest_move(a, b, required) == pytest.approx(move, abs=1e-3 if "metal" in name else 2e-5)


@pytest.mark.parametrize("seed", range(60))
def test_after_the_move_the_gap_is_there(seed: int) -> None:
    """All kinds; of convex solids no shorter move out of 60 does it."""
    rng = np.random.default_rng(seed)
    kinds = ("Capsule", "Drum", "Block", "Wall") if seed % 3 else ("Capsule", "Plate", "Bow", "Drum")
    a, b = (random_solid(str(k), rng) for k in rng.choice(kinds, 2))
    if isinstance(a, Wall) and isinstance(b, Wall):
        a = Block(a_frame(rng), (3.0, 4.0, 5.0))
    required = max(0.0, gap(a, b).mm) + rng.uniform(0.1, 20.0)
    move = smallest_move(a, b, required)
    assert gap(moved(a, Frame(move)), b).mm >= required - 2 * GOOD_MM
    if seed % 3:
        ways = rng.normal(size=(60, 3))
        ways *= 0.95 * math.hypot(*move) / np.linalg.norm(ways, axis=1)[:, None]
        assert all(g.mm < required for g in gaps([(moved(a, Frame(vector(w))), b) for w in ways]))


def a_frame(rng: np.random.Generator) -> Frame:
    """Any frame."""
    turn = random_turn(rng)
    return Frame(vector(rng.uniform(-50, 50, 3)), vector(turn[:, 0]), vector(turn[:, 1]), vector(turn[:, 2]))


def test_a_rod_in_a_bend_is_led_back_into_the_hollow() -> None:
    """It is 4 off the axis and 5 thick: 1 within the metal of a bend of 20 inside; 2 are wanted, not a way all out."""
    bow = BOWS[1]
    turn = math.radians(bow.turn_deg / 2)
    way = np.array((0.0, math.sin(turn), -math.cos(turn)))
    a, b = (vector(way * 16 + np.array((x, 0.0, 0.0))) for x in (-10.0, 90.0))
    move = smallest_move(Drum(a, b, 5.0), bow, 2.0)
    assert move == pytest.approx(tuple((-3 * way).tolist()), abs=1e-3)


def test_the_move_turns_with_the_solids() -> None:
    a, b = Capsule((-2, 0, 4), (8, 0, 4), 5.5), PLATES[0]
    place = random_frame(np.random.default_rng(4))
    plain, turned = smallest_move(a, b, 6.0), smallest_move(moved(a, place), moved(b, place), 6.0)
    assert turned == pytest.approx(place.direction(plain), abs=2e-5)


def test_what_no_move_mends() -> None:
    with pytest.raises(ValueError, match="meet wherever"):
        smallest_move(Wall((0, 0, 0), (0, 0, 1)), Wall((0, 0, 9), (1, 0, 0)), 1.0)
    with pytest.raises(ValueError, match="0 or more"):
        smallest_move(PLATES[0], BOWS[0], -1.0)
