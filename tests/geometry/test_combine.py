"""Sums and differences of closed chains against hand formulas, and what has to be refused."""

from __future__ import annotations

import math
import random
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bracketgen.errors import GeometryFault
from bracketgen.geometry.combine import Region, combine, one_body, tidy
from bracketgen.geometry.contour import Circle, Contour, box_contour, closed_chain
from bracketgen.geometry.edge import Arc
from bracketgen.geometry.plane import Placement, Point, polar

O = Point(0, 0)  # noqa: E741
quick = settings(deadline=None, max_examples=100)


def disc(x: float, y: float, r: float) -> Contour:
    return Circle(Point(x, y), r).contour()


def slot(x: float, y: float, half: float, r: float) -> Contour:
    parts = [disc(x - half, y, r), disc(x + half, y, r), box_contour(x - half, y - r, x + half, y + r)]
    return one_body(combine(parts), "slot").outer


def lens_area(r: float, apart: float) -> float:
    """Two equal discs: twice the segment, 2 r^2 acos(d / 2r) - d / 2 sqrt(4 r^2 - d^2)."""
    return 2 * r**2 * math.acos(apart / 2 / r) - apart / 2 * math.sqrt(4 * r**2 - apart**2)


def body(added: list[Contour], cut: list[Contour] | None = None) -> Region:
    return one_body(combine(added, cut or []), "test")


def area(regions: list[Region]) -> float:
    return math.fsum(r.area for r in regions)


def closed_exactly(chain: Contour) -> bool:
    return all(chain.edges[i - 1].end == e.start for i, e in enumerate(chain.edges))


# ---------------------------------------------------------------- sums and differences by hand


def test_two_discs() -> None:
    made = body([disc(0, 0, 10), disc(12, 0, 10)])
    assert made.area == pytest.approx(200 * math.pi - lens_area(10, 12), abs=1e-10)
    notch = [p for p in made.outer.vertices() if abs(p.x - 6) < 1]
    assert sorted(notch) == [pytest.approx((6, -8), abs=1e-12), pytest.approx((6, 8), abs=1e-12)]
    moon = body([disc(0, 0, 10)], [disc(12, 0, 10)])
    assert moon.area == pytest.approx(100 * math.pi - lens_area(10, 12), abs=1e-10)


def test_an_arm_tangent_to_its_pad() -> None:
    made = body([disc(0, 0, 10), box_contour(-60, -10, 0, 10)])
    assert made.area == pytest.approx(1200 + 50 * math.pi, abs=1e-10)
    assert made.outer.length == pytest.approx(60 + 20 + 60 + 10 * math.pi, abs=1e-10)
    arcs = [e for e in made.outer.edges if isinstance(e, Arc)]
    assert {(e.centre, e.radius) for e in arcs} == {(O, 10.0)}


def test_a_narrow_arm_meets_its_pad_on_the_circle() -> None:
    made = body([disc(0, 0, 10), box_contour(0, -6, 50, 6)])
    # Beyond x = 8 (where 6-8-10 meets) the arm; left of it the disc without its cap.
    cap = 100 * math.atan2(6, 8) - 6 * 8
    assert made.area == pytest.approx(100 * math.pi - cap + 42 * 12, abs=1e-10)
    assert {Point(8, 6), Point(8, -6)} <= {Point(round(p.x, 12), round(p.y, 12)) for p in made.outer.vertices()}


def test_a_saddle_bites_a_segment() -> None:
    made = body([box_contour(-30, 0, 30, 20)], [disc(0, 36, 20)])
    # The top edge is a chord 16 below the centre: half its length is 12.
    segment = 400 * math.atan2(12, 16) - 12 * 16
    assert made.area == pytest.approx(1200 - segment, abs=1e-10)
    (saddle,) = [e for e in made.outer.edges if isinstance(e, Arc)]
    assert saddle.sweep_rad < 0
    assert (saddle.centre, saddle.radius) == (Point(0, 36), 20)


def test_a_hole_inside_stays_one_round() -> None:
    made = body([box_contour(0, 0, 30, 20)], [disc(10, 10, 4)])
    assert made.area == pytest.approx(600 - 16 * math.pi, abs=1e-11)
    (hole,) = made.inner
    assert hole.area == pytest.approx(-16 * math.pi, abs=1e-11)
    assert all(isinstance(e, Arc) and e.centre == Point(10, 10) and e.radius == 4 for e in hole.edges)


def test_an_island_in_an_opening_is_a_second_body() -> None:
    bars = [box_contour(0, 0, 40, 8), box_contour(32, 0, 40, 40), box_contour(0, 32, 40, 40), box_contour(0, 0, 8, 40)]
    frame, island = sorted(combine([*bars, disc(20, 20, 5)]), key=lambda r: -r.area)
    assert frame.area == pytest.approx(1600 - 24 * 24)
    assert len(frame.inner) == 1
    assert island.area == pytest.approx(25 * math.pi, abs=1e-11)
    assert not island.inner


def test_pads_in_a_ring_enclose_an_opening() -> None:
    bars = [box_contour(0, 0, 40, 8), box_contour(32, 0, 40, 40), box_contour(0, 32, 40, 40), box_contour(0, 0, 8, 40)]
    made = body(bars)
    assert made.area == pytest.approx(1600 - 24 * 24)
    (opening,) = made.inner
    assert opening.area == pytest.approx(-576)
    assert len(made.outer.edges) == len(opening.edges) == 4


def test_edges_that_coincide_dissolve() -> None:
    made = body([box_contour(0, 0, 10, 10), box_contour(10, 0, 20, 10), box_contour(3, 4, 12, 10)])
    assert made.area == 200
    assert sorted(made.outer.vertices()) == [(0, 0), (0, 10), (20, 0), (20, 10)]


def test_the_same_chain_twice_and_both_ways_counts_once() -> None:
    made = body([disc(0, 0, 7), disc(0, 0, 7), disc(0, 0, 7).reversed()])
    assert made.area == pytest.approx(49 * math.pi, abs=1e-11)
    assert not combine([disc(0, 0, 7)], [disc(0, 0, 7)])


def test_nothing_added_is_nothing() -> None:
    assert combine([]) == []
    assert combine([disc(0, 0, 5)], [disc(0, 0, 6)]) == []


# ---------------------------------------------------------------- what has to be refused


@pytest.mark.parametrize(
    ("cut", "at"),
    [
        ([disc(10, 5, 5)], (10, 0)),  # a hole tangent to the edge
        ([disc(10, 10, 4), disc(18, 10, 4)], (14, 10)),  # two tangent holes
        ([slot(12, 10, 4, 3), disc(12, 15, 2)], (12, 13)),  # a hole tangent to a slot
        ([disc(10, 10, 6), disc(13, 10, 9)], None),  # one inside the other: no web, no fault
    ],
)
def test_a_web_of_no_width_is_a_fault_with_its_place(cut: list[Contour], at: tuple[float, float] | None) -> None:
    plate = [box_contour(0, 0, 40, 20)]
    if at is None:
        assert len(combine(plate, cut)) == 1
        return
    with pytest.raises(GeometryFault, match="web of no width") as e:
        combine(plate, cut)
    assert e.value.at == pytest.approx(at, abs=1e-7)


@given(st.floats(0, 360), st.floats(3, 9), st.floats(-40, 40), st.floats(-40, 40))
@quick
def test_a_hole_tangent_to_a_turned_edge_is_a_fault(turn: float, r: float, x: float, y: float) -> None:
    move = Placement.turned(turn, Point(x, y))
    with pytest.raises(GeometryFault, match="web of no width") as e:
        combine([box_contour(0, 0, 40, 20).moved(move)], [disc(20, r, r).moved(move)])
    assert e.value.at is not None
    assert math.dist(e.value.at, move.point(Point(20, 0))) < 1e-6


def test_bodies_that_touch_in_a_corner_are_a_fault() -> None:
    with pytest.raises(GeometryFault, match="web of no width"):
        combine([box_contour(0, 0, 10, 10), box_contour(10, 10, 20, 20)])


def test_two_bodies_and_no_body_are_faults() -> None:
    with pytest.raises(GeometryFault, match="web: falls into 2 separate pieces"):
        one_body(combine([box_contour(0, 0, 30, 10)], [box_contour(10, -5, 20, 15)]), "web")
    with pytest.raises(GeometryFault, match="web: nothing is left"):
        one_body(combine([disc(0, 0, 3)], [disc(0, 0, 4)]), "web")


def test_a_sliver_is_a_fault() -> None:
    # 10 mm x 0.0005 mm = 0.005 mm2 is left of the plate.
    with pytest.raises(GeometryFault, match="sliver under"):
        combine([box_contour(0, 0, 10, 10)], [box_contour(-1, 0.0005, 11, 11)])


# ---------------------------------------------------------------- laws


shapes = st.one_of(
    st.builds(disc, st.floats(-30, 30), st.floats(-30, 30), st.floats(4, 25)),
    st.builds(
        lambda w, h, t, x, y: box_contour(-w, -h, w, h).moved(Placement.turned(t, Point(x, y))),
        st.floats(4, 30), st.floats(4, 30), st.floats(0, 360), st.floats(-30, 30), st.floats(-30, 30),
    ),
    st.builds(slot, st.floats(-20, 20), st.floats(-20, 20), st.floats(3, 20), st.floats(3, 12)),
)  # fmt: skip


@given(shapes, shapes)
@settings(deadline=None, max_examples=200)
def test_what_two_shapes_share_is_the_same_by_three_ways(a: Contour, b: Contour) -> None:
    try:
        both, a_only, b_only = area(combine([a, b])), area(combine([a], [b])), area(combine([b], [a]))
    except GeometryFault as fault:
        assert "sliver" in fault.what or "web of no width" in fault.what
        return
    assert a.area - a_only == pytest.approx(b.area - b_only, abs=1e-7)
    assert a.area + b.area - both == pytest.approx(a.area - a_only, abs=1e-7)


@given(st.lists(shapes, min_size=2, max_size=5), st.integers(0, 10**6))
@quick
def test_order_start_and_direction_of_the_input_do_not_change_the_result(parts: list[Contour], seed: int) -> None:
    def signature(regions: list[Region]) -> list[tuple[float, float]]:
        loops = [loop for r in regions for loop in (r.outer, *r.inner)]
        return sorted((round(loop.area, 6), round(loop.length, 6)) for loop in loops)

    rng = random.Random(seed)
    turned = [Contour(c.edges[k:] + c.edges[:k]) for c in parts for k in [rng.randrange(len(c.edges))]]
    mixed = [c.reversed() if rng.random() < 0.5 else c for c in turned]
    rng.shuffle(mixed)
    try:
        first = combine(parts)
    except GeometryFault:
        with pytest.raises(GeometryFault):
            combine(mixed)
        return
    second = combine(mixed)
    for one, other in zip(signature(first), signature(second), strict=True):
        assert one == pytest.approx(other, abs=3e-6)


@given(st.lists(shapes, min_size=1, max_size=6))
@quick
def test_chains_come_out_closed_tidy_and_with_arcs_below_a_half_turn(parts: list[Contour]) -> None:
    try:
        regions = combine(parts)
    except GeometryFault:
        return
    for loop in (loop for r in regions for loop in (r.outer, *r.inner)):
        assert closed_exactly(loop)
        assert all(not isinstance(e, Arc) or abs(e.bulge) < 1 for e in loop.edges)
        assert len(tidy(loop).edges) == len(loop.edges)
        # No run of little chords on one circle: every arc that came in goes out as an arc.
        lines = [e for e in loop.edges if not isinstance(e, Arc)]
        assert len(lines) <= 4 * len(parts) * 3


def flange(start: Point, end: Point, leg: float) -> Contour:
    """Grown out of the right side of start-end, its corners found by angle functions rather than by the plate's."""
    out = polar(leg, math.atan2(end.y - start.y, end.x - start.x) - math.pi / 2)
    return closed_chain([start, start.plus(out), end.plus(out), end])


@pytest.mark.sweep
def test_ten_thousand_flanges_placed_by_arithmetic_are_one_body() -> None:
    """A flange on each edge of 2,500 turned plates: the joints leave neither gap nor sliver."""
    rng = random.Random(20)
    for _ in range(2_500):
        move = Placement.turned(rng.uniform(0, 360), Point(rng.uniform(-500, 500), rng.uniform(-500, 500)))
        w, h, leg, a = rng.uniform(20, 200), rng.uniform(10, 100), rng.uniform(5, 60), rng.uniform(0.1, 0.4)
        corners = [Point(0, 0), Point(w, 0), Point(w, h), Point(0, h)]
        joints = [
            (move.point(p.plus(q.minus(p), a)), move.point(q.plus(p.minus(q), a)))
            for p, q in pairwise([*corners, corners[0]])
        ]
        regions = combine([closed_chain(corners).moved(move), *(flange(p, q, leg) for p, q in joints)])
        assert len(regions) == 1
        assert not regions[0].inner
        assert len(regions[0].outer.edges) == 20
        assert regions[0].area == pytest.approx(w * h + 2 * (w + h) * (1 - 2 * a) * leg, abs=1e-6)


def test_tidy_joins_runs_on_one_line_and_on_one_circle() -> None:
    corners = [Point(0, 0), Point(4, 0), Point(10, 0), Point(10, 5), Point(0, 5), Point(0, 2)]
    assert sorted(tidy(closed_chain(corners)).vertices()) == [(0, 0), (0, 5), (10, 0), (10, 5)]
    eighths = [polar(6, k * math.pi / 4) for k in range(8)]
    round_ = Contour(tuple(Arc.make(p, q, O, 6, 1) for p, q in pairwise([*eighths, eighths[0]])))
    whole = tidy(round_)
    assert len(whole.edges) <= 4
    assert whole.area == pytest.approx(36 * math.pi, abs=1e-11)
    assert closed_exactly(whole)
