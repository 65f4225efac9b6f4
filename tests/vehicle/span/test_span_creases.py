"""Bends between planes, held against bending by the package's fold and against turning by a rotation matrix."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bracketgen.geometry.space import Frame
from bracketgen.rules.bends import MIN_LEG
from bracketgen.standards.machines import die
from bracketgen.vehicle.near.solids import Block, Capsule, Drum, Wall
from bracketgen.vehicle.span.bridge import creases
from bracketgen.vehicle.span.practice import Practice
from bracketgen.vehicle.span.surroundings import distance

PRACTICE = Practice(thickness_mm=4.0, die_mm=32.0)


def turned(axis: np.ndarray, degrees: float, v: np.ndarray) -> np.ndarray:
    """Rodrigues' rotation."""
    a = math.radians(degrees)
    return v * math.cos(a) + np.cross(axis, v) * math.sin(a) + axis * (axis @ v) * (1 - math.cos(a))


@given(st.floats(10, 130), st.booleans(), st.floats(0, 360), st.floats(-80, 80))
def test_metal_runs_from_plane_to_plane_as_a_sheet_does_when_it_is_bent(
    turn: float, up: bool, around: float, offset: float
) -> None:
    """A sheet in the plane z = 0 with its metal at x < 0, bent about the y axis at x = 0."""
    z1 = np.array([0.0, 0.0, 1.0])
    on1 = np.array([1.0, 0.0, 0.0])
    # Up turns the metal beyond the line toward +z: about -y, so that x goes to +z.
    axis = np.array([0.0, -1.0 if up else 1.0, 0.0])
    on2, z2 = turned(axis, turn, on1), turned(axis, turn, z1)
    way = np.array([0.3, 0.5, 0.81]) / np.linalg.norm([0.3, 0.5, 0.81])
    spin = np.stack([turned(way, around, e) for e in np.eye(3)])
    move = offset * np.array([0.2, -0.4, 0.6])
    z1, z2, on1, on2 = (spin.T @ v for v in (z1, z2, on1, on2))
    d1, d2 = float(z1 @ move), float(z2 @ move)
    sigma = np.array([1.0 if up else -1.0])
    c = creases(z1[None], np.array([d1]), z2[None], np.array([d2]), sigma, PRACTICE)
    assert c.turn_deg[0] == pytest.approx(turn)
    # The first panel's metal lies behind the line, the second's ahead of it along the bent sheet.
    assert sigma[0] * c.q1[0] == pytest.approx(-on1)
    assert sigma[0] * c.q2[0] == pytest.approx(on2)
    assert float(np.linalg.norm(np.cross(c.on_line[0] - move, c.along[0]))) == pytest.approx(0.0, abs=1e-6)


def test_the_tangent_line_lies_where_a_square_bend_has_it() -> None:
    # R = 5 in a V of 32: from where the described faces meet, R away when they are inside, R + t when outside.
    for sigma, expected in ((1.0, 5.0), (-1.0, 9.0)):
        z1, z2 = np.array([[0.0, 0.0, 1.0]]), np.array([[-sigma, 0.0, 0.0]])
        c = creases(z1, np.zeros(1), z2, np.zeros(1), np.array([sigma]), PRACTICE)
        assert c.setback[0] == pytest.approx(expected)


def test_the_least_flat_is_what_the_die_chart_asks_for_over_the_outside() -> None:
    # V 32: shortest leg 22 mm over the outside, of which R + t = 9 lie before the tangent line of a square bend.
    assert die(32).minimum_flange_mm == 22.0
    assert PRACTICE.least_flats_mm(np.array([90.0, 120.0])) == pytest.approx([13.0, 13.0], abs=0.06)
    assert MIN_LEG.id == "min-leg"


@pytest.mark.parametrize(
    ("solid", "point", "expected"),
    [
        (Capsule((0, 0, 0), (10, 0, 0), 3.0), (5, 0, 8), 5.0),
        (Capsule((0, 0, 0), (10, 0, 0), 3.0), (14, 3, 0), 2.0),
        (Drum((0, 0, 0), (0, 0, 10), 4.0), (7, 0, 14), 5.0),
        (Drum((0, 0, 0), (0, 0, 10), 4.0), (1, 0, 5), -3.0),
        (Block(Frame(), (1.0, 2.0, 3.0)), (4, 6, 3), 5.0),
        (Block(Frame(), (1.0, 2.0, 3.0)), (0, 0, 0), -1.0),
        (Wall((0, 0, 5), (0, 0, 1)), (9, 9, 3), -2.0),
    ],
)
def test_distances_of_sample_points_by_hand(
    solid: Capsule | Drum | Block | Wall, point: tuple[float, ...], expected: float
) -> None:
    assert float(distance(np.array([[point]]), solid)[0, 0]) == pytest.approx(expected)
