"""What holds of any gap: it is the same both ways, and wherever the two stand together."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from solids_in_space import BOWS, KINDS, PLATES, chords, moved, random_frame, random_solid, vector

from bracketgen.geometry.contour import Circle, Contour
from bracketgen.geometry.space import Frame
from bracketgen.vehicle.near.convex import way_out
from bracketgen.vehicle.near.gap import gap, gaps
from bracketgen.vehicle.near.pieces import pieces_of
from bracketgen.vehicle.near.solids import Block, Bow, Capsule, Plate, Solid

kinds = st.sampled_from(KINDS)
seeds = st.integers(0, 2**32 - 1)
#: Distances found by search agree with themselves to this, mm.
SAME_MM = 3e-6
#: A depth is looked for among directions; in two positions the search ends this close, in parts of the depth.
SAME_DEPTH = 0.03


def assert_same(mm: float, other: float) -> None:
    """Equal gaps."""
    assert mm == pytest.approx(other, abs=SAME_MM, rel=SAME_DEPTH if mm < 0 else 0.0)


def assert_same_for(kinds: tuple[str, str], mm: float, other: float) -> None:
    """The same; but how deep flat metal is met is only bounded, so there both need only say that it is."""
    if mm > SAME_MM or not set(kinds) & {"Plate", "Bow"}:
        assert_same(mm, other)
    else:
        assert other <= 2 * SAME_MM


@settings(deadline=None, max_examples=100)
@given(kinds, kinds, seeds)
def test_the_same_both_ways(one: str, two: str, seed: int) -> None:
    rng = np.random.default_rng(seed)
    a, b = random_solid(one, rng), random_solid(two, rng)
    there, back = gap(a, b), gap(b, a)
    assert_same_for((one, two), there.mm, back.mm)


@settings(deadline=None, max_examples=100)
@given(kinds, kinds, seeds)
def test_the_same_wherever_they_stand_together(one: str, two: str, seed: int) -> None:
    rng = np.random.default_rng(seed)
    a, b, place = random_solid(one, rng), random_solid(two, rng), random_frame(rng, 500.0)
    assert_same_for((one, two), gap(a, b).mm, gap(moved(a, place), moved(b, place)).mm)


@settings(deadline=None, max_examples=100)
@given(kinds, kinds, seeds, st.floats(0.01, 30.0))
def test_a_gap_changes_no_more_than_the_move(one: str, two: str, seed: int, mm: float) -> None:
    """Of solids that stay apart; moved along the gap of two convex solids, it changes by just as much."""
    rng = np.random.default_rng(seed)
    a, b = random_solid(one, rng), random_solid(two, rng)
    before = gap(a, b)
    if not 0.001 < before.mm < math.inf:
        return
    way = np.subtract(before.there, before.here) / before.mm
    after = gap(a, moved(b, Frame(vector(way * mm)))).mm
    if {one, two} & {"Plate", "Bow"}:
        assert after <= before.mm + mm + SAME_MM
    else:
        assert after == pytest.approx(before.mm + mm, abs=SAME_MM)


@settings(deadline=None, max_examples=20)
@given(st.sampled_from(("Capsule", "Drum", "Block")), st.sampled_from(("Drum", "Block")), seeds)
def test_the_depth_parts_them_and_nothing_less_does(one: str, two: str, seed: int) -> None:
    """The way out leaves solids that met touching; random moves of 0.95 of its length leave them met."""
    rng = np.random.default_rng(seed)
    a, b = random_solid(one, rng), moved(random_solid(two, rng), Frame(vector(rng.uniform(-5, 5, 3))))
    b = moved(b, Frame(vector(np.subtract(_middle(a), _middle(b)))))
    way, width = way_out(pieces_of((a,)), pieces_of((b,)))
    assert width > 0
    parted = gap(a, moved(b, Frame(vector(way * (width + 0.01))))).mm
    assert 0.01 - SAME_MM <= parted <= 0.01 + SAME_DEPTH * width
    tries = rng.normal(size=(20, 3))
    tries *= 0.95 * width / np.linalg.norm(tries, axis=1)[:, None]
    assert all(g.mm <= 0 for g in gaps([(a, moved(b, Frame(vector(t)))) for t in tries]))


def _middle(solid: Solid) -> tuple[float, float, float]:
    return solid.frame.origin if isinstance(solid, Block) else vector(np.add(solid.a, solid.b) / 2)  # type: ignore[union-attr]


def test_many_at_once_are_the_same_as_one_by_one() -> None:
    rng = np.random.default_rng(8)
    pairs = [(random_solid(a, rng), random_solid(b, rng)) for a in KINDS for b in KINDS for _ in range(3)]
    for pair, together in zip(pairs, gaps(pairs), strict=True):
        assert_same(together.mm, gap(*pair).mm)
    assert gaps([]) == []


# -- flat metal and bends against points spread densely over their surface


def on_sheets(chain: Contour | Circle, low: float, high: float, per_mm: float) -> np.ndarray:
    """Points on the walls under a chain."""
    ring = np.array(chords(chain, 1e-5))
    after = np.roll(ring, -1, axis=0)
    long = [np.linspace(p, q, max(2, math.ceil(np.hypot(*(q - p)) * per_mm)), endpoint=False)
            for p, q in zip(ring, after, strict=True)]  # fmt: skip
    flat = np.concatenate(long)
    heights = np.linspace(low, high, max(2, math.ceil((high - low) * per_mm)))
    return np.column_stack((np.repeat(flat, len(heights), axis=0), np.tile(heights, len(flat))))


def on_faces(plate: Plate, step: float) -> np.ndarray:
    """A grid of points on both faces."""
    import shapely

    flat = shapely.Polygon(chords(plate.outline, 1e-4), [chords(h, 1e-4) for h in plate.holes])
    x0, y0, x1, y1 = plate.outline.bounds()
    x, y = (g.ravel() for g in np.meshgrid(np.arange(x0, x1, step), np.arange(y0, y1, step)))
    held = shapely.contains_xy(flat, x, y)
    xy = np.column_stack((x, y))[held]
    return np.concatenate([np.column_stack((xy, np.full(len(xy), z))) for z in (plate.low, plate.high)])


def surface(metal: Plate | Bow) -> np.ndarray:
    """Points all over the metal, about 0.25 mm apart."""
    if isinstance(metal, Plate):
        walls = [on_sheets(c, metal.low, metal.high, 4.0) for c in (metal.outline, *metal.holes)]
        return np.concatenate((*walls, on_faces(metal, 0.25)))
    turn = np.radians(np.linspace(0, metal.turn_deg, 700))
    radii = np.linspace(metal.inner, metal.outer, 20)
    x = np.linspace(0, metal.width, math.ceil(4 * metal.width))
    skin = [(p, r * math.sin(a), -r * math.cos(a)) for r in (metal.inner, metal.outer) for a in turn for p in x]
    ends = [(p, r * math.sin(a), -r * math.cos(a)) for p in (0.0, metal.width) for a in turn for r in radii]
    cuts = [(p, r * math.sin(a), -r * math.cos(a)) for p in x for a in (turn[0], turn[-1]) for r in radii]
    return np.array(skin + ends + cuts)


@pytest.mark.parametrize("number", range(len(PLATES) + len(BOWS)))
def test_against_points_all_over(number: int) -> None:
    """No point of the surface is nearer than the gap; the nearest point is only a little farther."""
    metal: Plate | Bow = (*PLATES, *BOWS)[number]
    points = surface(metal)
    rng = np.random.default_rng(number)
    apart = 0
    for _ in range(16):
        pipe = random_solid("Capsule", rng)
        assert isinstance(pipe, Capsule)
        a, along = np.array(pipe.a), np.subtract(pipe.b, pipe.a)
        share = np.clip((points - a) @ along / (along @ along), 0.0, 1.0)
        nearest = float(np.linalg.norm(points - a - share[:, None] * along, axis=1).min()) - pipe.radius
        mm = gap(metal, pipe).mm
        if mm > 0:
            apart += 1
            # Of a smooth body, a point 0.25 / sqrt 2 off its nearest point is at most that much farther away.
            assert mm - 1e-5 <= nearest <= mm + 0.18
        else:
            assert nearest <= 0.18
    assert apart > 4
