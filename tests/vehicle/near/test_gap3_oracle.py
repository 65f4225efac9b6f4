"""Gaps of random pairs of all kinds against an independent collision library."""

from __future__ import annotations

from itertools import combinations_with_replacement

import numpy as np
import pytest
from solids_in_space import BOWS, KINDS, PLATES, moved, outside_mm, random_frame, random_solid, rounded, vector

from bracketgen.geometry.space import Frame
from bracketgen.vehicle.near.gap import gaps
from bracketgen.vehicle.near.solids import Block, Capsule, Drum, Gap3, Plate, Solid

collision_oracle = pytest.importorskip("collision_oracle", exc_type=ImportError)
pytestmark = pytest.mark.oracle

PAIRS = 1000
SAME_MM = 1e-5
#: Two walls have no ends, which the library can't say; they are held against their closed form elsewhere.
KINDS_OF_PAIR = [p for p in combinations_with_replacement(KINDS, 2) if p != ("Wall", "Wall")]


def check_points(pair: tuple[Solid, Solid], gap: Gap3) -> None:
    """The points belong to the solids and are as far apart as the gap says; solids that meet share a point."""
    apart = float(np.linalg.norm(np.subtract(gap.here, gap.there)))
    if gap.mm > 0:
        assert apart == pytest.approx(gap.mm, abs=SAME_MM)
        assert outside_mm(pair[0], gap.here) < SAME_MM and outside_mm(pair[1], gap.there) < SAME_MM
        return
    assert any(outside_mm(pair[0], p) < SAME_MM and outside_mm(pair[1], p) < SAME_MM for p in (gap.here, gap.there))


def compare(pairs: list[tuple[Solid, Solid]], text: str) -> int:
    """Holds all gaps against the library's; how many pairs are apart."""
    off = []
    for pair, gap in zip(pairs, gaps(pairs), strict=True):
        check_points(pair, gap)
        if gap.mm > 0:
            off.append(gap.mm - max(collision_oracle.fcl_distance_mm(*pair), 0.0))
    print(f"{text}: {len(off)} of {len(pairs)} apart, off by {min(off):.1e} to {max(off):.1e} mm")
    assert max(abs(min(off)), abs(max(off))) < SAME_MM
    return len(off)


@pytest.mark.parametrize("kinds", KINDS_OF_PAIR, ids=" to ".join)
def test_random_pairs(kinds: tuple[str, str]) -> None:
    rng = np.random.default_rng(KINDS_OF_PAIR.index(kinds))
    pairs = [(random_solid(kinds[0], rng), random_solid(kinds[1], rng)) for _ in range(PAIRS)]
    assert compare(pairs, " to ".join(kinds)) > PAIRS / 3


@pytest.mark.parametrize("kind", ["Capsule", "Drum", "Block", "Plate"])
def test_in_hollows(kind: str) -> None:
    """Slim solids through a hole of radius 12 and through a bend of inside radius 20, a little off and askew."""
    rng = np.random.default_rng(len(kind))
    pairs: list[tuple[Solid, Solid]] = []
    for k in range(150):
        metal = PLATES[0] if k % 2 else BOWS[1]
        middle = (-25.0, 5.0, -2.0) if k % 2 else (35.0, 0.0, 0.0)
        room = 12.0 if k % 2 else 20.0
        slim = slim_solid(kind, room * rng.uniform(0.2, 0.7), rng)
        along = Frame(
            (0.0, 0.0, 0.0), *(((1, 0, 0), (0, 1, 0), (0, 0, 1)) if k % 2 else ((0, 1, 0), (0, 0, 1), (1, 0, 0)))
        )
        askew = Frame.about_x(rng.uniform(-6, 6), vector(rng.uniform(-0.2, 0.2, 3) * room)).within(along)
        slim = moved(moved(slim, askew), Frame(middle))
        place = random_frame(rng)
        pairs.append((moved(metal, place), moved(slim, place)))
    assert compare(pairs, f"{kind} in hollows") > 60


def slim_solid(kind: str, size: float, rng: np.random.Generator) -> Solid:
    """Stands along z about the origin, within `size` of it."""
    half = rng.uniform(1.0, 40.0)
    match kind:
        case "Block":
            return Block(Frame(), (0.7 * size, 0.5 * size, half))
        case "Plate":
            return Plate(Frame(), rounded(1.6 * size, 1.2 * size, 0.4 * size), (), -half, half)
    return (Capsule if kind == "Capsule" else Drum)((0.0, 0.0, -half), (0.0, 0.0, half), size)
