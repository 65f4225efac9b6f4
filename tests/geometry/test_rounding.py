"""Rounds and chamfers against hand formulas; a radius without room is said, never bent into shape."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from bracketgen.errors import GeometryFault
from bracketgen.geometry.combine import combine, one_body
from bracketgen.geometry.contour import Circle, Contour, box_contour, closed_chain
from bracketgen.geometry.crossing import self_meeting
from bracketgen.geometry.edge import Arc, Line
from bracketgen.geometry.plane import Placement, Point, polar
from bracketgen.geometry.rounding import (
    Corner,
    CornerFit,
    Reduced,
    chamfer_corner,
    corner_kind,
    round_corner,
    round_corners,
)

EXACT = CornerFit.EXACT
quick = settings(deadline=None, max_examples=150)


def corner_area(r: float, turn: float) -> float:
    """What a round takes from (or adds to) a corner between straight edges: r^2 (tan(turn / 2) - turn / 2)."""
    return r**2 * (math.tan(turn / 2) - turn / 2)


def l_shape() -> Contour:
    return closed_chain([Point(0, 0), Point(60, 0), Point(60, 20), Point(20, 20), Point(20, 50), Point(0, 50)])


def closed_exactly(chain: Contour) -> bool:
    return all(chain.edges[i - 1].end == e.start for i, e in enumerate(chain.edges))


def smooth(chain: Contour) -> bool:
    return all(corner_kind(chain.edges[i - 1], e) is None for i, e in enumerate(chain.edges))


# ---------------------------------------------------------------- straight edges


def test_a_square_with_round_corners() -> None:
    made, reduced = round_corners(box_contour(0, 0, 20, 20), 3, Corner.OUTER, EXACT)
    assert reduced == ()
    assert made.area == pytest.approx(400 - (4 - math.pi) * 9, abs=1e-11)
    assert made.length == pytest.approx(4 * 14 + 6 * math.pi, abs=1e-11)
    centres = {e.centre for e in made.edges if isinstance(e, Arc)}
    assert {(round(c.x, 12), round(c.y, 12)) for c in centres} == {(3, 3), (17, 3), (17, 17), (3, 17)}


def test_hollow_and_outer_corners_are_told_apart() -> None:
    outer, _ = round_corners(l_shape(), 4, Corner.OUTER, EXACT)
    hollow, _ = round_corners(l_shape(), 4, Corner.HOLLOW, EXACT)
    square = corner_area(4, math.pi / 2)
    assert outer.area == pytest.approx(1800 - 5 * square, abs=1e-11)
    assert hollow.area == pytest.approx(1800 + square, abs=1e-11)
    (round_,) = [e for e in hollow.edges if isinstance(e, Arc)]
    assert round_.centre == pytest.approx((24, 24))
    assert round_.sweep_rad == pytest.approx(-math.pi / 2)


@st.composite
def stars(draw: st.DrawFn) -> Contour:
    """A chain around the origin with corners both ways and edges above 10 mm."""
    n = draw(st.integers(3, 9))
    reach = draw(st.lists(st.floats(50, 160), min_size=n, max_size=n))
    first = draw(st.floats(0, 6.28))
    corners = [polar(r, first + 2 * math.pi * k / n) for k, r in enumerate(reach)]
    return closed_chain(corners)


@given(stars(), st.floats(0.5, 4))
@quick
def test_area_changes_by_the_sum_over_the_turns(chain: Contour, r: float) -> None:
    edges = chain.edges
    change = 0.0
    used = []
    for i, e in enumerate(edges):
        a, b = edges[i - 1].direction_at(e.start), e.direction_at(e.start)
        turn = math.atan2(a.cross(b), a.dot(b))
        assume(1e-3 < abs(turn) < 2.9)
        used.append(r * math.tan(abs(turn) / 2))
        change -= math.copysign(corner_area(r, abs(turn)), turn)
    # Both rounds of an edge must leave more than the shortest edge between them.
    assume(all(e.length - used[i] - used[(i + 1) % len(used)] > 0.06 for i, e in enumerate(edges)))
    once, first = round_corners(chain, r, Corner.HOLLOW, EXACT)
    made, second = round_corners(once, r, Corner.OUTER, EXACT)
    assert first == second == ()
    assert made.area - chain.area == pytest.approx(change, abs=1e-7)
    assert len(made.edges) == 2 * len(edges)
    assert smooth(made)
    assert closed_exactly(made)
    assert self_meeting(made) is None


@pytest.mark.parametrize("turn", [0.0, 17.3, 33.0, 71.0, 90.0])
def test_edges_used_up_exactly_vanish_and_the_chain_stays_closed(turn: float) -> None:
    move = Placement.turned(turn, Point(3.1, 7.7))
    made, reduced = round_corners(box_contour(0, 0, 10, 10).moved(move), 5, Corner.OUTER, EXACT)
    assert reduced == ()
    assert made.area == pytest.approx(25 * math.pi, abs=1e-10)
    assert all(isinstance(e, Arc) for e in made.edges)
    assert closed_exactly(made)
    step = closed_chain([Point(0, 0), Point(20, 0), Point(20, 5), Point(15, 5), Point(15, 10), Point(0, 10)])
    filled, _ = round_corners(step.moved(move), 5, Corner.HOLLOW, EXACT)
    assert filled.area == pytest.approx(175 + corner_area(5, math.pi / 2), abs=1e-10)
    assert closed_exactly(filled)


# ---------------------------------------------------------------- arcs


@pytest.mark.parametrize(("disc_r", "half", "r"), [(10.0, 6.0, 4.0), (16.0, 5.0, 8.0), (8.0, 4.0, 3.0)])
def test_a_fillet_between_pad_and_arm(disc_r: float, half: float, r: float) -> None:
    """Its centre is r + half above the arm's middle and disc_r + r from the pad's centre."""
    chain = one_body(
        combine([Circle(Point(0, 0), disc_r).contour(), box_contour(0, -half, 60, half)]), "pad with arm"
    ).outer
    made, reduced = round_corners(chain, r, Corner.HOLLOW, EXACT)
    assert reduced == ()
    x, y = math.sqrt((disc_r + r) ** 2 - (half + r) ** 2), half + r
    rounds = [e for e in made.edges if isinstance(e, Arc) and e.radius == r]
    assert sorted(e.centre for e in rounds) == [pytest.approx((x, -y), abs=1e-12), pytest.approx((x, y), abs=1e-12)]
    # The added piece: pad's centre, round's centre, its foot on the arm, the corner; less both discs' sectors.
    corner = math.sqrt(disc_r**2 - half**2)
    quad = shoelace([(0, 0), (x, y), (x, half), (corner, half)])
    lean = math.atan2(y, x)
    pad_sector = disc_r**2 / 2 * (lean - math.atan2(half, corner))
    round_sector = r**2 / 2 * (math.pi / 2 - lean)
    assert made.area - chain.area == pytest.approx(2 * (quad - pad_sector - round_sector), abs=1e-9)


def shoelace(points: list[tuple[float, float]]) -> float:
    pairs = zip(points, points[1:] + points[:1], strict=True)
    return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in pairs)) / 2


def test_a_round_in_the_notch_between_two_discs() -> None:
    """Discs of 10 at 0 and 16: the centre of a round of 7 is sqrt(17^2 - 8^2) = 15 above the middle."""
    chain = one_body(combine([Circle(Point(x, 0), 10).contour() for x in (0, 16)]), "two pads").outer
    made, _ = round_corners(chain, 7, Corner.HOLLOW, EXACT)
    centres = sorted(e.centre for e in made.edges if isinstance(e, Arc) and e.radius == 7)
    assert centres == [pytest.approx((8, -15), abs=1e-12), pytest.approx((8, 15), abs=1e-12)]
    assert smooth(made)


def test_outer_corners_of_a_half_moon_of_two_edges() -> None:
    """Disc of 10 cut at y = 4: rounds of 1 sit at y = 5 and 9 from the centre."""
    chain = one_body(combine([Circle(Point(0, 0), 10).contour()], [box_contour(-20, -20, 20, 4)]), "cap").outer
    assert len(chain.edges) == 2
    made, reduced = round_corners(chain, 1, Corner.OUTER, EXACT)
    assert reduced == ()
    assert len(made.edges) == 4
    x = math.sqrt(81 - 25)
    assert sorted(e.centre for e in made.edges if isinstance(e, Arc) and e.radius == 1) == [
        pytest.approx((-x, 5), abs=1e-12),
        pytest.approx((x, 5), abs=1e-12),
    ]
    assert smooth(made)


def test_a_round_swallows_a_short_edge_beside_a_hollow_corner() -> None:
    """A step of 1 mm in a hollow corner: a round of 6 reaches over it and touches wall and floor."""
    stepped = closed_chain(
        [
            Point(0, 0),
            Point(50, 0),
            Point(50, 10),
            Point(11, 10),
            Point(11, 11),
            Point(10, 11),
            Point(10, 40),
            Point(0, 40),
        ]
    )
    made, reduced = round_corners(stepped, 6, Corner.HOLLOW, EXACT)
    assert reduced == ()
    (round_,) = [e for e in made.edges if isinstance(e, Arc)]
    assert round_.centre == pytest.approx((16, 16), abs=1e-12)
    assert made.area == pytest.approx(500 + 300 + corner_area(6, math.pi / 2), abs=1e-10)


def test_an_outer_round_smooths_over_a_nick() -> None:
    """A corner already cut off by 0.4 mm: two corners of 45 deg with no room for 3 mm each become one round of 3."""
    nicked = closed_chain([Point(0.4, 0), Point(20, 0), Point(20, 20), Point(0, 20), Point(0, 0.4)])
    made, reduced = round_corners(nicked, 3, Corner.OUTER, EXACT)
    assert reduced == ()
    assert made.area == pytest.approx(400 - 4 * corner_area(3, math.pi / 2), abs=1e-10)


# ---------------------------------------------------------------- no room


def test_a_radius_without_room_is_refused_with_place_and_cure() -> None:
    with pytest.raises(GeometryFault, match=r"corner radius of 12 mm does not fit") as e:
        round_corners(box_contour(0, 0, 20, 20), 12, Corner.OUTER, EXACT)
    assert e.value.at in box_contour(0, 0, 20, 20).vertices()
    assert "the largest that fits" in e.value.cure


@pytest.mark.parametrize(("side", "told"), [(20.0, 20.0), (20.05, 20.05), (20.12, 20.05)])
def test_the_largest_that_fits_is_taken_and_told(side: float, told: float) -> None:
    """A single corner of a square, in steps of 0.05 mm: the round leaves nothing of a side, or at least 0.05 mm."""
    made, reduced = round_corners(
        box_contour(0, 0, side, side), 30, Corner.OUTER, CornerFit.LARGEST, lambda p: p == Point(side, side)
    )
    assert reduced == (Reduced(Point(side, side), 30, told),)
    assert made.area == pytest.approx(side**2 - corner_area(told, math.pi / 2), abs=1e-9)


@given(st.floats(2, 15), st.floats(20, 60), st.floats(20, 60))
@settings(deadline=None, max_examples=60)
def test_outer_rounds_without_room_do_not_eat_a_side(r: float, w: float, h: float) -> None:
    made, reduced = round_corners(box_contour(0, 0, w, h), r, Corner.OUTER, CornerFit.LARGEST)
    assert all(0 <= x.made_mm < r == x.asked_mm for x in reduced)
    told = {x.at: x.made_mm for x in reduced}
    radii = [told.get(p, r) for p in box_contour(0, 0, w, h).vertices()]
    assert made.area == pytest.approx(w * h - sum(corner_area(x, math.pi / 2) for x in radii), abs=1e-7)
    assert made.bounds() == pytest.approx((0, 0, w, h), abs=1e-9)
    assert self_meeting(made) is None


def test_a_short_rest_of_a_side_is_not_taken_for_a_nick() -> None:
    """18 on a square of 20 leaves 2 mm of two sides: the next rounds stay in them, and the plate keeps its size."""
    made, reduced = round_corners(box_contour(0, 0, 20, 20), 18, Corner.OUTER, CornerFit.LARGEST)
    assert [r.made_mm for r in reduced] == [2.0, 2.0]
    assert made.area == pytest.approx(
        400 - corner_area(18, math.pi / 2) * 2 - corner_area(2, math.pi / 2) * 2, abs=1e-9
    )
    assert made.bounds() == pytest.approx((0, 0, 20, 20), abs=1e-12)


def test_a_fillet_does_not_eat_a_neck_or_close_a_gap() -> None:
    """Two hollow corners 8 mm apart at the bottom of a slot: rounds of 5 each would meet, so they are refused."""
    slotted = closed_chain(
        [
            Point(0, 0),
            Point(40, 0),
            Point(40, 30),
            Point(24, 30),
            Point(24, 10),
            Point(16, 10),
            Point(16, 30),
            Point(0, 30),
        ]
    )
    with pytest.raises(GeometryFault, match="does not fit"):
        round_corners(slotted, 5, Corner.HOLLOW, EXACT)
    made, reduced = round_corners(slotted, 5, Corner.HOLLOW, CornerFit.LARGEST)
    assert reduced
    assert self_meeting(made) is None
    full, _ = round_corners(slotted, 4, Corner.HOLLOW, EXACT)
    assert full.area == pytest.approx(1200 - 160 + 2 * corner_area(4, math.pi / 2), abs=1e-10)


# ---------------------------------------------------------------- one corner, chamfers


def test_one_corner_only() -> None:
    made = round_corner(box_contour(0, 0, 20, 20), Point(20, 0), 5)
    assert made.area == pytest.approx(400 - corner_area(5, math.pi / 2), abs=1e-11)
    assert {Point(0, 0), Point(20, 20), Point(0, 20)} <= set(made.vertices())


@given(stars(), st.floats(1, 10), st.integers(0, 20))
@quick
def test_a_chamfer_cuts_off_its_triangle(chain: Contour, leg: float, which: int) -> None:
    i = which % len(chain.edges)
    at = chain.edges[i].start
    a, b = chain.edges[i - 1].direction_at(at), chain.edges[i].direction_at(at)
    made = chamfer_corner(chain, at, leg)
    assert chain.area - made.area == pytest.approx(leg**2 / 2 * a.cross(b), abs=1e-8)
    assert len(made.edges) == len(chain.edges) + 1
    assert closed_exactly(made)


def test_a_chamfer_without_room_or_beside_an_arc_is_refused() -> None:
    with pytest.raises(GeometryFault, match="chamfer of 20 mm does not fit") as e:
        chamfer_corner(box_contour(0, 0, 20, 30), Point(0, 0), 20)
    assert "30.00 and 20.00 mm long" in e.value.cure
    half = Contour((Arc.make(Point(5, 0), Point(-5, 0), Point(0, 0), 5, 1), Line(Point(-5, 0), Point(5, 0))))
    with pytest.raises(GeometryFault, match="two straight edges"):
        chamfer_corner(half, Point(5, 0), 1)
