"""Lines, arcs, circles and chains against hand formulas; where edges meet; what a chain holds."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bracketgen.errors import GeometryFault
from bracketgen.geometry.contour import ChainSet, Circle, Contour, box_contour, closed_chain, holds
from bracketgen.geometry.crossing import circle_circle, line_circle, meeting_points, require_simple, self_meeting
from bracketgen.geometry.edge import Arc, Line
from bracketgen.geometry.plane import Placement, Point, polar
from bracketgen.geometry.space import Frame

lengths = st.floats(0.5, 200)
places = st.floats(-300, 300)
angles = st.floats(-360, 360)
quick = settings(deadline=None, max_examples=150)


def slot(half: float, r: float) -> Contour:
    """Round-ended, along x, centres at -half and half; six edges."""
    right, left = Point(half, 0), Point(-half, 0)
    a, b, c, d = Point(half, -r), Point(half, r), Point(-half, r), Point(-half, -r)
    tips = Point(half + r, 0), Point(-half - r, 0)
    return Contour(
        (
            Line(d, a),
            Arc(a, tips[0], right, r, math.pi / 2),
            Arc(tips[0], b, right, r, math.pi / 2),
            Line(b, c),
            Arc(c, tips[1], left, r, math.pi / 2),
            Arc(tips[1], d, left, r, math.pi / 2),
        )
    )


def test_quarter_arc_by_hand() -> None:
    arc = Arc.make(Point(10, 0), Point(0, 10), Point(0, 0), 10, 1)
    assert arc.length == pytest.approx(5 * math.pi, abs=1e-12)
    assert arc.bulge == pytest.approx(math.sqrt(2) - 1, abs=1e-15)  # tan(90 / 4 deg)
    assert arc.area_term() == pytest.approx(25 * math.pi, abs=1e-12)  # the sector, seen from the origin
    assert arc.middle == pytest.approx((10 / math.sqrt(2), 10 / math.sqrt(2)))
    assert arc.direction_at(arc.start) == pytest.approx((0, 1))
    assert arc.reversed().bulge == -arc.bulge
    assert arc.reversed().direction_at(arc.start) == pytest.approx((0, -1))


@given(st.floats(-300, 300), st.floats(1, 179), st.floats(0.5, 100), st.sampled_from([1, -1]))
@quick
def test_bulge_gives_back_centre_and_radius_by_another_formula(start: float, sweep: float, r: float, way: int) -> None:
    c = Point(12.0, -7.0)
    p, q = (c.plus(polar(r, math.radians(start + s))) for s in (0, way * sweep))
    arc = Arc.make(p, q, c, r, way)
    chord, b = p.distance(q), arc.bulge
    # Radius and centre from chord and sagitta: s = b chord / 2, r = (chord^2 / 4 + s^2) / 2s.
    sagitta = abs(b) * chord / 2
    assert (chord**2 / 4 + sagitta**2) / (2 * sagitta) == pytest.approx(r, rel=1e-9)
    left = q.minus(p).unit().left()
    centre = Point((p.x + q.x) / 2, (p.y + q.y) / 2).plus(left, way * (r - sagitta))
    assert centre.distance(c) < 1e-8 * max(1, r)
    assert math.copysign(1, b) == way


def test_bounds_reach_past_the_vertices() -> None:
    assert Arc.make(Point(10, 0), Point(-10, 0), Point(0, 0), 10, 1).bounds() == pytest.approx((-10, 0, 10, 10))
    flat_top = Arc.make(polar(10, math.radians(60)), polar(10, math.radians(120)), Point(0, 0), 10, 1)
    assert flat_top.bounds() == pytest.approx((-5, 10 * math.sin(math.radians(60)), 5, 10))
    beside = Arc.make(polar(10, math.radians(10)), polar(10, math.radians(80)), Point(0, 0), 10, 1)
    assert beside.bounds()[2] == pytest.approx(10 * math.cos(math.radians(10)))


@given(angles, st.floats(0.05, 3.1), lengths, st.sampled_from([1, -1]))
@quick
def test_bounds_hold_every_point_of_the_arc_and_are_reached(start: float, sweep: float, r: float, way: int) -> None:
    a = math.radians(start)
    arc = Arc.make(polar(r, a), polar(r, a + way * sweep), Point(0, 0), r, way)
    points = [arc.at(k / 400) for k in range(401)]
    x0, y0, x1, y1 = arc.bounds()
    slack = r * (sweep / 400) ** 2
    for found, true in ((min(p.x for p in points), x0), (-max(p.x for p in points), -x1)):
        assert -1e-9 <= found - true <= slack
    for found, true in ((min(p.y for p in points), y0), (-max(p.y for p in points), -y1)):
        assert -1e-9 <= found - true <= slack


def test_slot_area_and_length_by_hand() -> None:
    chain = slot(12, 5)
    assert chain.area == pytest.approx(math.pi * 25 + 24 * 10, abs=1e-11)
    assert chain.length == pytest.approx(math.pi * 10 + 48, abs=1e-11)
    assert chain.bounds() == pytest.approx((-17, -5, 17, 5))
    assert chain.reversed().area == pytest.approx(-chain.area)


@given(angles, places, places)
@quick
def test_a_move_keeps_area_length_and_shared_ends(turn: float, x: float, y: float) -> None:
    chain = slot(12, 5)
    moved = chain.moved(Placement.turned(turn, Point(x, y)))
    assert moved.area == pytest.approx(chain.area, abs=1e-8)
    assert moved.length == pytest.approx(chain.length, abs=1e-9)
    edges = moved.edges
    assert all(edges[i - 1].end == edges[i].start for i in range(len(edges)))


@given(angles, places, places, angles, places, places)
@quick
def test_placements_chain_and_invert(t1: float, x1: float, y1: float, t2: float, x2: float, y2: float) -> None:
    a, b, p = Placement.turned(t1, Point(x1, y1)), Placement.turned(t2, Point(x2, y2)), Point(3.0, -8.0)
    assert a.then(b).point(p).distance(b.point(a.point(p))) < 1e-9
    assert a.inverse().point(a.point(p)).distance(p) < 1e-9
    lifted = Frame.in_plane(a).within(Frame.in_plane(b)).point((*p, 4.0))
    assert lifted == pytest.approx((*a.then(b).point(p), 4.0), abs=1e-9)


def test_quarter_turns_are_exact() -> None:
    assert Placement.turned(90, Point(1, 2)).point(Point(3, 4)) == Point(-3, 5)
    assert Frame.about_x(90, (0, 0, 0)).point((0, 5, 0)) == (0, 0, 5)


def test_meetings_by_hand() -> None:
    cross = meeting_points(Line(Point(0, 0), Point(10, 0)), Line(Point(3, -4), Point(3, 4)))
    assert cross == [Point(3, 0)]
    assert meeting_points(Line(Point(0, 0), Point(2, 0)), Line(Point(3, -4), Point(3, 4))) == []
    chord = line_circle(Point(-20, 3), Point(1, 0), Point(0, 0), 5)
    assert chord == [Point(-4, 3), Point(4, 3)]
    lens = circle_circle(Point(0, 0), 5, Point(6, 0), 5)
    assert [tuple(p) for p in lens] == [pytest.approx((3, 4)), pytest.approx((3, -4))]


@given(lengths, lengths, angles)
@quick
def test_touching_circles_meet_in_one_point_outside_and_inside(r1: float, r2: float, turn: float) -> None:
    direction = polar(1, math.radians(turn))
    outside = circle_circle(Point(0, 0), r1, Point(0, 0).plus(direction, r1 + r2), r2)
    assert len(outside) == 1
    assert outside[0].distance(direction.scaled(r1)) < 1e-9
    if abs(r1 - r2) > 1e-3:
        inside = circle_circle(Point(0, 0), r1, Point(0, 0).plus(direction, r1 - r2), r2)
        assert len(inside) == 1
        assert inside[0].distance(direction.scaled(r1)) < 1e-9


@given(lengths, places, angles)
@quick
def test_a_tangent_line_touches_once(r: float, along: float, turn: float) -> None:
    n = polar(1, math.radians(turn))
    touch = line_circle(Point(0, 0).plus(n, r).plus(n.left(), along), n.left(), Point(0, 0), r)
    assert len(touch) == 1
    assert touch[0].distance(n.scaled(r)) < 1e-9


def test_a_shared_stretch_gives_its_ends() -> None:
    a, b = Line(Point(0, 0), Point(10, 0)), Line(Point(14, 0), Point(4, 0))
    assert sorted(meeting_points(a, b)) == [Point(4, 0), Point(10, 0)]
    o = Point(0, 0)
    first = Arc.make(polar(8, 0.0), polar(8, 2.0), o, 8, 1)
    second = Arc.make(polar(8, 3.0), polar(8, 1.0), o, 8, -1)
    found = sorted(math.atan2(p.y, p.x) for p in meeting_points(first, second))
    assert found == pytest.approx([1.0, 2.0])


@given(st.floats(-20, 20), st.floats(-10, 10))
@settings(deadline=None, max_examples=400)
def test_a_slot_holds_what_lies_within_its_radius_of_the_middle_line(x: float, y: float) -> None:
    from_middle = math.hypot(max(0.0, abs(x) - 12), y)
    if abs(from_middle - 5) > 1e-9:
        assert holds(slot(12, 5), Point(x, y)) is (from_middle < 5)
        assert holds(slot(12, 5).reversed(), Point(x, y)) is (from_middle < 5)


def test_points_level_with_vertices_and_on_chords_are_not_miscounted() -> None:
    plate = closed_chain([Point(0, 0), Point(10, 0), Point(10, 5), Point(15, 5), Point(15, 10), Point(0, 10)])
    disc = Circle(Point(0, 0), 10).contour()
    asked = [Point(5, 5), Point(12, 5.5), Point(12, 4.5), Point(-1, 5), Point(16, 5), Point(-1, 0)]
    assert [bool(h) for h in ChainSet([plate]).hold(asked)[:, 0]] == [True, True, False, False, False, False]
    # The middle, and points on the chords of the four quarters.
    assert ChainSet([disc]).hold([Point(0, 0), Point(5, 5), Point(-5, 5), Point(5, -5), Point(-5, -5)]).all()


def test_a_bow_tie_names_both_edges_and_the_crossing() -> None:
    tie = closed_chain([Point(0, 0), Point(10, 10), Point(10, 0), Point(0, 10)])
    with pytest.raises(GeometryFault, match=r"outline: edge 1 and edge 3 cross or touch at \(5\.00, 5\.00\) mm") as e:
        require_simple(tie, "outline")
    assert e.value.at == pytest.approx((5, 5))


@pytest.mark.parametrize(
    ("chain", "pair"),
    [
        # A vertex that lies on another edge.
        (closed_chain([Point(0, 0), Point(10, 0), Point(10, 10), Point(5, 0), Point(0, 10)]), (0, 2)),
        # Two vertices in one place: the chain is pinched.
        (closed_chain([Point(0, 0), Point(9, 0), Point(5, 5), Point(9, 9), Point(0, 9), Point(5, 5)]), (1, 4)),
        # A spike that runs back on itself.
        (closed_chain([Point(0, 0), Point(20, 0), Point(10, 0), Point(10, 10), Point(0, 10)]), (0, 1)),
    ],
)
def test_chains_that_touch_themselves_are_found(chain: Contour, pair: tuple[int, int]) -> None:
    found = self_meeting(chain)
    assert found is not None
    assert found[:2] == pair


def test_sound_chains_pass() -> None:
    for chain in (slot(12, 5), Circle(Point(1, 2), 3).contour(), box_contour(0, 0, 5, 5)):
        assert require_simple(chain, "outline") is chain
    cap = Arc.make(Point(5, 0), Point(-5, 0), Point(0, 0), 5, 1)
    half_disc = Contour((cap, Line(Point(-5, 0), Point(5, 0))))
    assert self_meeting(half_disc) is None
