"""Scratch polygons stay on the side of the metal that was asked for, within the chord error."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from bracketgen.errors import GeometryFault
from bracketgen.geometry.combine import combine
from bracketgen.geometry.contour import Circle, Contour, box_contour
from bracketgen.geometry.plane import Placement, Point
from bracketgen.geometry.scratch import ChordSide, polygon


def bitten_plate() -> Contour:
    """60 x 30 with a half round of 10 bitten out of the top and one of 8 grown on the right."""
    bite = Circle(Point(0, 15), 10).contour()
    bump = Circle(Point(30, 0), 8).contour()
    return combine([box_contour(-30, -15, 30, 15), bump], [bite])[0].outer


TRUE_AREA = 1800 + 32 * math.pi - 50 * math.pi


@given(st.floats(1e-4, 0.5))
@settings(deadline=None, max_examples=40)
def test_the_true_area_lies_between_both_sides_and_within_the_error(error: float) -> None:
    plate = bitten_plate()
    less = polygon(plate, chord_error_mm=error, side=ChordSide.INSIDE)
    more = polygon(plate, chord_error_mm=error, side=ChordSide.OUTSIDE)
    assert less.area < TRUE_AREA < more.area
    arcs_mm = 18 * math.pi
    assert TRUE_AREA - less.area <= arcs_mm * error
    assert more.area - TRUE_AREA <= arcs_mm * error
    assert less.difference(more).area < 1e-9


def test_corners_of_the_inside_polygon_on_an_outward_arc_lie_on_it() -> None:
    disc = Circle(Point(3, 4), 12)
    inside = polygon(disc.contour(), chord_error_mm=0.01, side=ChordSide.INSIDE)
    outside = polygon(disc.contour(), chord_error_mm=0.01, side=ChordSide.OUTSIDE)
    assert [math.dist(p, (3, 4)) for p in inside.exterior.coords] == pytest.approx([12.0] * len(inside.exterior.coords))
    assert all(12 - 1e-9 <= math.dist(p, (3, 4)) <= 12.01 for p in outside.exterior.coords)
    assert inside.exterior.distance(shapely.Point(3, 4)) >= 11.99


def test_round_holes_shrink_the_outside_polygon_less_than_the_inside_one() -> None:
    plate, hole = box_contour(0, 0, 20, 20), Circle(Point(10, 10), 5)
    less = polygon(plate, [hole], chord_error_mm=0.02, side=ChordSide.INSIDE)
    more = polygon(plate, [hole], chord_error_mm=0.02, side=ChordSide.OUTSIDE)
    true = 400 - 25 * math.pi
    assert less.area < true < more.area
    assert more.area - less.area < 2 * 0.02 * 10 * math.pi


def test_direction_of_the_chain_does_not_matter() -> None:
    a = polygon(bitten_plate(), chord_error_mm=0.05, side=ChordSide.INSIDE)
    b = polygon(bitten_plate().reversed(), chord_error_mm=0.05, side=ChordSide.INSIDE)
    assert a.symmetric_difference(b).area < 1e-9


def test_a_web_thinner_than_the_error_is_refused_not_repaired() -> None:
    plate = box_contour(0, 0, 20, 20)
    near_edge = Circle(Point(0, 0), 5).contour().moved(Placement.turned(20, Point(10, 5.001)))
    with pytest.raises(GeometryFault, match=r"0\.5 mm"):
        polygon(plate, [near_edge], chord_error_mm=0.5, side=ChordSide.INSIDE)


@pytest.mark.parametrize("error", [0.0, -1.0, math.nan])
def test_a_chord_error_must_be_above_nothing(error: float) -> None:
    with pytest.raises(ValueError, match="chord error"):
        polygon(box_contour(0, 0, 1, 1), chord_error_mm=error, side=ChordSide.INSIDE)
