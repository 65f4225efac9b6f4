"""Distances between edges, against hand values and dense sampling."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bracketgen.geometry.contour import Circle, Contour, Edge, box_contour
from bracketgen.geometry.edge import Arc, Line
from bracketgen.geometry.gap import Gap, cut_gap, edge_gap, point_gap
from bracketgen.geometry.plane import Point, polar

places = st.builds(Point, st.floats(-40, 40), st.floats(-40, 40))
lines = st.builds(Line, places, places).filter(lambda e: e.length > 0.5)


def _arc(c: Point, r: float, start: float, sweep: float) -> Arc:
    a = math.radians(start)
    return Arc.make(c.plus(polar(r, a)), c.plus(polar(r, a + sweep)), c, r, sweep)


arcs = st.builds(
    _arc, places, st.floats(1, 40), st.floats(0, 360), st.floats(0.1, 3.1).flatmap(lambda s: st.sampled_from([s, -s]))
)
edges = st.one_of(lines, arcs)
circles = st.builds(Circle, places, st.floats(1, 40))
boxes = st.builds(lambda p, w, h: box_contour(p.x, p.y, p.x + w, p.y + h), places, st.floats(1, 60), st.floats(1, 60))


def point_on(e: Edge, share: float) -> Point:
    return e.at(share) if isinstance(e, Arc) else e.start.plus(e.end.minus(e.start), share)


def sampled(e: Edge, n: int = 200) -> list[Point]:
    return [point_on(e, k / n) for k in range(n + 1)]


def lies_on(p: Point, chain: Contour) -> bool:
    return min(e.nearest(p).distance(p) for e in chain.edges) < 1e-7


def test_hand_values() -> None:
    base = Line(Point(0, 0), Point(10, 0))
    assert edge_gap(base, Line(Point(4, 3), Point(20, 3))).mm == 3
    assert edge_gap(base, Line(Point(13, 4), Point(20, 4))).mm == 5
    assert edge_gap(base, Line(Point(5, -1), Point(5, 1))) == Gap(0.0, Point(5, 0), Point(5, 0))
    bowl = _arc(Point(5, 12), 8, 200, math.radians(140))
    facing = edge_gap(base, bowl)
    assert facing.mm == pytest.approx(4, abs=1e-12)
    assert facing.here == pytest.approx((5, 0))
    assert facing.there == pytest.approx((5, 4))
    lid = _arc(Point(5, 12), 8, 20, math.radians(140))
    assert edge_gap(Line(Point(0, 0), Point(20, 0)), lid).mm == pytest.approx(
        12 + 8 * math.sin(math.radians(20)), abs=1e-12
    )


def test_hole_to_hole_to_edge_and_in_a_ring() -> None:
    a, b = Circle(Point(0, 0), 5), Circle(Point(30, 40), 8)
    gap = cut_gap(a, b)
    assert gap.mm == pytest.approx(50 - 13, abs=1e-12)
    assert gap.here == pytest.approx((3, 4))
    assert gap.there == pytest.approx((30 - 4.8, 40 - 6.4))
    assert cut_gap(a, box_contour(-9, -20, 30, 7)).mm == pytest.approx(2, abs=1e-12)
    inner = cut_gap(Circle(Point(0, 0), 20), Circle(Point(3, 0), 5))
    assert inner.mm == pytest.approx(12, abs=1e-12)
    assert (inner.here, inner.there) == (Point(20, 0), Point(8, 0))
    swapped = cut_gap(Circle(Point(3, 0), 5), Circle(Point(0, 0), 20))
    assert (swapped.mm, swapped.here, swapped.there) == (inner.mm, inner.there, inner.here)
    assert cut_gap(Circle(Point(0, 0), 20), Circle(Point(0, 0), 5)).mm == pytest.approx(15)


def test_where_cuts_cross_the_gap_is_nothing_and_lies_on_both() -> None:
    a = Circle(Point(0, 0), 10)
    for b in (Circle(Point(12, 0), 10), box_contour(5, -3, 30, 3), box_contour(-30, -9, 30, 30)):
        gap = cut_gap(a, b)
        assert gap.mm == pytest.approx(0, abs=1e-12)
        for p in (gap.here, gap.there):
            assert math.hypot(*p) == pytest.approx(10, abs=1e-9)
            assert lies_on(p, b.contour() if isinstance(b, Circle) else b)


@pytest.mark.parametrize("r", [4.0, 8.0, 12.5])
def test_touching_cuts_have_no_web(r: float) -> None:
    """Tangent hole, two tangent holes, hole tangent to an opening: the web is nothing, not almost nothing."""
    assert cut_gap(Circle(Point(r, 0), r), box_contour(0, -40, 90, 40)).mm < 1e-12
    assert cut_gap(Circle(Point(0, 0), r), Circle(Point(2 * r, 0), r)).mm < 1e-12
    assert cut_gap(Circle(Point(0, 0), r).contour(), Circle(Point(2 * r, 0), r).contour()).mm < 1e-9


@given(edges, edges)
@settings(deadline=None, max_examples=400)
def test_never_above_and_hardly_below_what_sampling_finds(a: Edge, b: Edge) -> None:
    gap = edge_gap(a, b)
    pa, pb = np.array(sampled(a)), np.array(sampled(b))
    found = float(np.hypot(*(pa[:, None, :] - pb[None, :, :]).T).min())
    assert gap.mm <= found + 1e-7
    assert found - gap.mm <= (a.length + b.length) / 200 / 2 + 1e-7
    assert gap.mm == pytest.approx(gap.here.distance(gap.there), abs=1e-9)
    assert a.nearest(gap.here).distance(gap.here) < 1e-6
    assert b.nearest(gap.there).distance(gap.there) < 1e-6
    assert edge_gap(b, a).mm == pytest.approx(gap.mm, abs=1e-7)


@given(circles, st.one_of(circles, boxes))
@settings(deadline=None, max_examples=200)
def test_a_whole_circle_and_its_four_quarters_are_as_far_away(a: Circle, b: Circle | Contour) -> None:
    gap = cut_gap(a, b)
    other = b.contour() if isinstance(b, Circle) else b
    assert gap.mm == pytest.approx(cut_gap(a.contour(), other).mm, abs=1e-6)
    assert cut_gap(b, a).mm == pytest.approx(gap.mm, abs=1e-9)
    assert a.centre.distance(gap.here) == pytest.approx(a.radius, abs=1e-6)
    assert lies_on(gap.there, other) or gap.mm < 1e-6


@given(places, st.floats(2, 20))
@settings(deadline=None, max_examples=100)
def test_a_point_to_a_disc(p: Point, r: float) -> None:
    assert point_gap(p, Circle(Point(0, 0), r).contour()).mm == pytest.approx(abs(math.hypot(*p) - r), abs=1e-9)
