"""The map from the plane to the paper, and the lines of a flat in the line types of a page (plane geometry)."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from parts import l_part, plate, round_hole
from preview_parts import worked

from bracketgen.drawing.marks.flat_lines import FaceUp, FlatLines, PaperMap, centred_map, fitted_map
from bracketgen.drawing.sheet import FAINT, WAY_LINE, LineType, clipped, cropped
from bracketgen.geometry.contour import box_contour
from bracketgen.geometry.plane import Point

places = st.builds(Point, st.floats(-500.0, 500.0), st.floats(-500.0, 500.0))


@given(p=places, q=places, scale=st.floats(0.05, 20.0), turn=st.sampled_from((0.0, 90.0)))
def test_a_map_keeps_shapes_and_turns_none_over(p: Point, q: Point, scale: float, turn: float) -> None:
    drawn = centred_map((0.0, 0.0, 80.0, 20.0), (10.0, 10.0, 110.0, 90.0), scale, turn)
    assert drawn.point(Point(40.0, 10.0)) == pytest.approx(Point(60.0, 50.0))
    a, b = drawn.point(p), drawn.point(q)
    assert a.distance(b) == pytest.approx(scale * p.distance(q), abs=1e-6)
    assert drawn.level is (turn == 0.0) and drawn.face is FaceUp.DESCRIBED
    way = q.minus(p)
    assert drawn.direction(way).length() == pytest.approx(way.length())


@pytest.mark.parametrize(("turn", "scale"), [(0.0, 1.25), (90.0, 1.0)])
def test_a_fitted_map_fills_the_tighter_side(turn: float, scale: float) -> None:
    """80 × 20 mm into 100 × 80: across 100 / 80; turned, 80 / 80."""
    assert fitted_map((0.0, 0.0, 80.0, 20.0), (0.0, 0.0, 100.0, 80.0), 9.0, turn).scale == pytest.approx(scale)


def test_the_back_is_turned_over_about_the_y_axis_and_stretched_each_way() -> None:
    drawn = PaperMap.putting(Point(30.0, 5.0), Point(20.0, 20.0), (1.02, 0.98), FaceUp.BACK)
    assert drawn.face is FaceUp.BACK
    assert drawn.point(Point(30.0, 5.0)) == pytest.approx(Point(20.0, 20.0))
    assert drawn.point(Point(20.0, 15.0)) == pytest.approx(Point(30.2, 29.8))
    assert drawn.box((20.0, 5.0, 30.0, 15.0)) == pytest.approx((20.0, 20.0, 30.2, 29.8))


def test_a_page_draws_what_it_has_line_types_for() -> None:
    flat, _ = worked(l_part())
    here = PaperMap.putting(Point(0.0, 0.0), Point(0.0, 0.0), (1.0, 1.0))
    few = FlatLines(outline=LineType(0.5), hole=LineType(0.25)).drawn(flat, here)
    assert not [line for line in few if "bend" in line.shows] and few[-1].shows == "outline"
    bends = FlatLines(outline=LineType(0.5), hole=LineType(0.25), tangent=LineType(0.1), bend=LineType(0.2, (), FAINT))
    drawn = bends.drawn(flat, here)
    (strip,) = flat.strips
    (middle,) = [line for line in drawn if line.shows == "bend 1"]
    assert middle.colour == WAY_LINE[strip.bend.way] and middle.dash_mm
    tangents = [line.points for line in drawn if line.shows == "tangent of bend 1"]
    apart = [a[0].distance(b[0]) for a, b in pairwise(tangents)]
    assert apart == pytest.approx([strip.metal.allowance_mm])


def test_a_cross_reaches_beyond_its_hole() -> None:
    flat, _ = worked(plate(box_contour(0.0, 0.0, 60.0, 40.0), [round_hole("a", 20.0, 10.0, 8.0)]))
    lines = FlatLines(outline=LineType(0.5), hole=LineType(0.25), centre=LineType(0.1), beyond_mm=1.5)
    here = PaperMap.putting(Point(0.0, 0.0), Point(0.0, 0.0), (2.0, 2.0))
    level, upright = (line.points for line in lines.drawn(flat, here) if line.shows.startswith("centre of"))
    assert level[0] == pytest.approx(Point(30.5, 20.0)) and level[1] == pytest.approx(Point(49.5, 20.0))
    assert upright[0] == pytest.approx(Point(40.0, 10.5)) and upright[1] == pytest.approx(Point(40.0, 29.5))


@given(st.lists(places, min_size=2, max_size=6))
def test_what_is_cut_at_a_box_lies_in_it(points: list[Point]) -> None:
    box = (-100.0, -80.0, 120.0, 90.0)
    kept = [p for piece in clipped(points, box) for p in piece] + list(cropped(points, box))
    assert all(box[0] - 1e-9 <= p.x <= box[2] + 1e-9 and box[1] - 1e-9 <= p.y <= box[3] + 1e-9 for p in kept)
    inside = [p for p in points if box[0] < p.x < box[2] and box[1] < p.y < box[3]]
    assert all(min(math.dist(p, q) for q in kept) < 1e-9 for p in inside if kept)


def test_a_turned_square_cropped_at_its_middle_keeps_half() -> None:
    square = (Point(10.0, 0.0), Point(0.0, 10.0), Point(-10.0, 0.0), Point(0.0, -10.0))
    kept = cropped(square, (0.0, -50.0, 50.0, 50.0))
    area = sum(a.cross(b) for a, b in zip(kept, (*kept[1:], kept[0]), strict=True)) / 2
    assert area == pytest.approx(100.0)
