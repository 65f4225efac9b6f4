"""Gaps that can be worked out by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from solids_in_space import BOWS, PLATES, random_frame, random_solid, vector

from bracketgen.geometry.contour import Circle, box_contour
from bracketgen.geometry.plane import Point
from bracketgen.geometry.space import Frame
from bracketgen.vehicle.near.gap import gap, gaps
from bracketgen.vehicle.near.solids import Block, Bow, Capsule, Drum, Plate, Solid, Wall

#: 100 x 60 x 5, its described face in z = 0.
SHEET = Plate(Frame(), box_contour(-50, -30, 50, 30), (), -5.0, 0.0)
DRILLED = Plate(Frame(), SHEET.outline, (Circle(Point(10, 0), 6.0),), -5.0, 0.0)
#: Stands on the sheet, over its hole.
ON_EDGE = Frame((10, 0, 0), (0, 0, 1), (0, 1, 0), (-1, 0, 0))
QUARTER = Bow(Frame(), 40.0, 5.0, 8.0, 90.0)
R2 = math.sqrt(2)
CLOSE = 2e-6

#: Name, two solids, their gap.
BY_HAND: dict[str, tuple[Solid, Solid, float]] = {
    "face to pipe": (SHEET, Capsule((-20, 0, 15), (20, 0, 15), 5.5), 9.5),
    "face to pipe behind": (SHEET, Capsule((-20, 0, -25), (20, 0, -25), 5.5), 14.5),
    "pipe sunk into the face": (SHEET, Capsule((-20, 0, 4), (20, 0, 4), 5.5), -1.5),
    "edge to drum's side": (SHEET, Drum((-40, 50, 20), (40, 50, 20), 10.0), 20 * R2 - 10),
    # The corner (50, 30, 0) lies 50 - 30 = 20 and 42 - 30 = 12 before the drum's axis, and 10 below its end.
    "corner to drum's rim": (SHEET, Drum((70, 42, 10), (70, 42, 60), 8.0), math.hypot(math.hypot(20, 12) - 8, 10)),
    "face to a box on its edge": (SHEET, Block(Frame.about_x(45.0, (0, 0, 10 + 8 * R2)), (8, 8, 8)), 10.0),
    "skew drums": (Drum((-50, 0, 0), (50, 0, 0), 7.0), Drum((0, -50, 30), (0, 50, 30), 5.0), 18.0),
    "skew pipes": (Capsule((-50, 0, 0), (50, 0, 0), 7.0), Capsule((0, -50, 30), (0, 50, 30), 5.0), 18.0),
    "pipes end to end": (Capsule((0, 0, 0), (9, 0, 0), 2.0), Capsule((12, 4, 0), (30, 4, 0), 1.0), 2.0),
    "parallel drums": (Drum((0, 0, 0), (0, 0, 9), 4.0), Drum((9, 12, 3), (9, 12, 30), 5.0), 6.0),
    "drums one over the other": (Drum((0, 0, 0), (0, 0, 9), 4.0), Drum((1, 2, 12), (1, 2, 30), 5.0), 3.0),
    "boxes corner to corner": (Block(Frame(), (1, 2, 3)), Block(Frame((5, 9, 19)), (1, 1, 4)), math.sqrt(9 + 36 + 144)),
    "boxes pushed together": (Block(Frame(), (10, 10, 10)), Block(Frame((15, 3, 2)), (10, 10, 10)), -5.0),
    "boxes face to face": (Block(Frame(), (10, 10, 10)), Block(Frame((20, 3, 2)), (10, 10, 10)), 0.0),
    "wall under a plate": (SHEET, Wall((7, 7, -9), (0, 0, 1)), 4.0),
    "plate sunk into a wall": (SHEET, Wall((0, 0, -3), (0, 0, 1)), -2.0),
    "wall beside a drum": (Wall((0, 0, 0), (0.6, 0.0, 0.8)), Drum((10, -5, 0), (10, 5, 0), 2.0), 4.0),
    "walls face to face": (Wall((0, 0, 0), (0, 0, 1)), Wall((4, 4, 12), (0, 0, -1)), 12.0),
    "walls behind each other": (Wall((0, 0, 0), (0, 0, 1)), Wall((4, 4, -3), (0, 0, -1)), -3.0),
    "bolt in a hole": (DRILLED, Drum((10, 0, -20), (10, 0, 20), 5.5), 0.5),
    "bolt off the middle": (DRILLED, Drum((10.18, 0.24, -20), (10.18, 0.24, 20), 5.5), 0.2),
    "bolt against the hole": (DRILLED, Drum((10.3, 0.4, -20), (10.3, 0.4, 20), 5.5), 0.0),
    "bolt too thick for its hole": (DRILLED, Drum((10, 0.2, -20), (10, 0.2, 20), 6.5), -0.7),
    "hose through a hole": (DRILLED, Capsule((10, 1, -20), (10, 1, 20), 3.0), 2.0),
    "hose too thick for its hole": (DRILLED, Capsule((10, 1, -20), (10, 1, 20), 5.25), -0.25),
    "ball over a hole": (DRILLED, Capsule((10, 0, 8), (10, 0, 8.1), 3.0), 7.0),
    "pin that ends over a hole": (DRILLED, Drum((10, 0, 2.5), (10, 0, 20), 5.5), math.hypot(2.5, 0.5)),
    # A square bar in a round hole comes nearest at its corners.
    "bar in a hole": (DRILLED, Block(Frame((10, 0, 0)), (3.0, 4.0, 30.0)), 1.0),
    "plates one over the other": (DRILLED, Plate(Frame((3, 3, 9)), DRILLED.outline, DRILLED.holes, -1.0, 0.0), 8.0),
    "tongue through a hole": (DRILLED, Plate(ON_EDGE, box_contour(-40, -4, 40, 4), (), -3, 3), 1.0),
    "rod along a bend's inside": (QUARTER, Drum((-10, 0, 0), (50, 0, 0), 4.0), 1.0),
    "rod off the bend's axis": (QUARTER, Drum((-10, 1, -1), (50, 1, -1), 2.0), 3 - R2),
    "rod outside a bend": (QUARTER, Drum((-10, 9, -9), (50, 9, -9), 2.0), 9 * R2 - 8 - 2),
    "rod on the bend's open side": (QUARTER, Drum((-10, -4, 3), (50, -4, 3), 1.0), math.hypot(4, 8) - 1),
    "bend within a bend": (QUARTER, Bow(Frame(), 40.0, 1.0, 4.5, 90.0), 0.5),
    "bend under a wall": (QUARTER, Wall((0, 0, 9), (0, 0, -1)), 9.0),
}  # fmt: skip


@pytest.mark.parametrize("name", BY_HAND)
def test_by_hand(name: str) -> None:
    a, b, mm = BY_HAND[name]
    assert gap(a, b).mm == pytest.approx(mm, abs=CLOSE)
    assert gap(b, a).mm == pytest.approx(mm, abs=CLOSE)


def test_touching_at_all_places_of_a_face() -> None:
    for x in range(-60, 61, 7):
        found = gap(SHEET, Block(Frame((x, 3.0, 4.0)), (12, 12, 4)))
        assert found.mm == pytest.approx(0.0, abs=1e-9)


def test_points_are_where_the_gap_is() -> None:
    found = gap(SHEET, Capsule((20, 12, 15), (20, 12, 40), 5.5))
    assert found.here == pytest.approx((20, 12, 0)) and found.there == pytest.approx((20, 12, 9.5))


def test_anything_to_a_wall_is_the_farthest_point_behind() -> None:
    """Of capsules, drums and boxes the reach in a direction has a closed form."""
    rng = np.random.default_rng(5)
    pairs: list[tuple[Solid, Solid]] = []
    expected = []
    for k in range(300):
        solid = random_solid(("Capsule", "Drum", "Block")[k % 3], rng)
        frame = random_frame(rng)
        n = np.array(frame.z)
        match solid:
            case Capsule(a, b, radius):
                low = min(n @ a, n @ b) - radius
            case Drum(a, b, radius):
                axis = np.subtract(b, a) / np.linalg.norm(np.subtract(b, a))
                low = min(n @ a, n @ b) - radius * math.sqrt(max(0.0, 1 - (n @ axis) ** 2))
            case Block(f, half):
                low = n @ f.origin - sum(abs(n @ np.array(x)) * h for x, h in zip((f.x, f.y, f.z), half, strict=True))
        pairs.append((solid, Wall(frame.origin, frame.z)))
        expected.append(low - n @ frame.origin)
    assert [g.mm for g in gaps(pairs)] == pytest.approx(expected, abs=1e-9)


def test_walls_that_are_not_parallel_meet_endlessly() -> None:
    assert gap(Wall((0, 0, 0), (0, 0, 1)), Wall((0, 0, 9), (0, 0.6, -0.8))).mm == -math.inf


def test_bolts_in_holes_of_turned_plates() -> None:
    """Radial play, whatever way the plate is turned: hole radius less bolt radius less how far it is off."""
    rng = np.random.default_rng(6)
    pairs: list[tuple[Solid, Solid]] = []
    expected = []
    plate, hole = PLATES[0], PLATES[0].holes[1]
    assert isinstance(hole, Circle)
    for _ in range(100):
        frame = random_frame(rng)
        off, way, radius = rng.uniform(0, 1.5), rng.uniform(0, 2 * math.pi), rng.uniform(1, 3)
        x, y = hole.centre.x + off * math.cos(way), hole.centre.y + off * math.sin(way)
        bolt = Drum(frame.point((x, y, -20.0)), frame.point((x, y, 20.0)), radius)
        pairs.append((Plate(frame, plate.outline, plate.holes, plate.low, plate.high), bolt))
        expected.append(hole.radius - radius - off)
    assert [g.mm for g in gaps(pairs)] == pytest.approx(expected, abs=CLOSE)


def test_rods_along_bends() -> None:
    """Inside a bend, seen along its axis: inside radius less the rod's, less how far it is off, toward the metal."""
    for bow in BOWS[:2]:
        turn = math.radians(bow.turn_deg / 2)
        way = np.array((0.0, math.sin(turn), -math.cos(turn)))
        for off in (0.0, 0.5, 2.0):
            a, b = (vector(way * off + np.array((x, 0.0, 0.0))) for x in (-10.0, 90.0))
            assert gap(bow, Drum(a, b, 1.5)).mm == pytest.approx(bow.inner - 1.5 - off, abs=CLOSE)
            assert gap(Capsule(a, b, 1.5), bow).mm == pytest.approx(bow.inner - 1.5 - off, abs=CLOSE)
