"""Surfaces are drawn so that the nearest one lies on top, also where solids run into each other."""

from __future__ import annotations

import math
import random

import pytest
from site_scenes import pipe
from test_mesh_of import open_edges

from bracketgen.drawing.model.mesh_of import solid_mesh
from bracketgen.drawing.site.bodies import body_of
from bracketgen.drawing.site.scene import Shown
from bracketgen.drawing.solid.depth_order import clipped, far_to_near
from bracketgen.drawing.solid.facet import Facet, Pen, halved, mesh_facets
from bracketgen.drawing.solid.viewpoint import Viewpoint, dot
from bracketgen.fit.near.gaps.solids import Block, Capsule, Drum, Solid
from bracketgen.geometry.frame import Frame, Vector
from bracketgen.geometry.point import Point

PEN = Pen(0.3)


def scene(seed: int) -> list[Solid]:
    """Boxes, drums and pipes in one small room, so that many run into each other."""
    dice = random.Random(seed)

    def place() -> Vector:
        return (dice.uniform(-60, 60), dice.uniform(-60, 60), dice.uniform(-60, 60))

    made: list[Solid] = []
    for _ in range(3):
        a = dice.uniform(0, math.pi)
        frame = Frame(place(), (math.cos(a), math.sin(a), 0.0), (-math.sin(a), math.cos(a), 0.0))
        made.append(Block(frame, (dice.uniform(5, 50), dice.uniform(5, 50), dice.uniform(2, 30))))
        made.append(Capsule(place(), place(), dice.uniform(4, 20)))
        made.append(Drum(place(), place(), dice.uniform(4, 30)))
    return made


def hit(facet: Facet, view: Viewpoint, p: Point) -> float | None:
    """Depth of a facet over a place on the paper; None where it isn't, or the place is within 0.001 of its edge."""
    flat = [view.flat(v) for v in facet.points]
    for a, b in zip(flat, (*flat[1:], flat[0]), strict=True):
        if b.minus(a).cross(p.minus(a)) <= 1e-3 * a.distance(b):
            return None
    # On the facet's plane: right * x + up * y + toward * depth, dotted with the normal.
    x, y = dot(view.right, facet.normal), dot(view.up, facet.normal)
    return (dot(facet.points[0], facet.normal) - p.x * x - p.y * y) / dot(view.toward, facet.normal)


@pytest.mark.parametrize("seed", range(8))
def test_the_last_drawn_is_the_nearest(seed: int) -> None:
    view = Viewpoint.at(37.0 * seed, 20.0 + 7.0 * seed)
    facets = [
        f
        for i, s in enumerate(scene(seed))
        for f in mesh_facets(solid_mesh(s, str(i), (90, 90, 90), chord_mm=1.5), view, PEN)
    ]
    drawn = [f for layer in far_to_near(facets) for f in layer]
    assert len(drawn) > len(facets), "nothing had to be cut: the scene is too easy"
    dice = random.Random(seed)
    looked = 0
    for _ in range(150):
        p = Point(dice.uniform(-70, 70), dice.uniform(-70, 70))
        nearest = max((d for f in facets if (d := hit(f, view, p)) is not None), default=None)
        on_top = [d for f in drawn if (d := hit(f, view, p)) is not None]
        if nearest is None or not on_top:
            continue
        looked += 1
        assert on_top[-1] == pytest.approx(nearest, abs=0.02)
    assert looked > 40


def area(facet: Facet) -> float:
    x, y, z = facet.normal
    total = (0.0, 0.0, 0.0)
    for p, q in zip(facet.points, (*facet.points[1:], facet.points[0]), strict=True):
        c = (p[1] * q[2] - p[2] * q[1], p[2] * q[0] - p[0] * q[2], p[0] * q[1] - p[1] * q[0])
        total = (total[0] + c[0], total[1] + c[1], total[2] + c[2])
    return (total[0] * x + total[1] * y + total[2] * z) / 2


SQUARE = Facet(
    ((0.0, 0.0, 0.0), (10.0, 0.0, 0.0), (10.0, 10.0, 0.0), (0.0, 10.0, 0.0)),
    (0.0, 0.0, 1.0), (9, 9, 9), (PEN, None, PEN, None), "square",
)  # fmt: skip


def test_a_cut_loses_nothing_and_is_not_inked() -> None:
    heights = [p[0] - 4.0 for p in SQUARE.points]
    right, left = halved(SQUARE, heights, 1e-3)
    assert right is not None and left is not None
    assert (area(right), area(left)) == (pytest.approx(60.0), pytest.approx(40.0))
    for part, kept in ((right, 12.0), (left, 8.0)):
        sides = zip(part.points, (*part.points[1:], part.points[0]), part.pens, strict=True)
        assert sum(math.dist(a, b) for a, b, pen in sides if pen and pen.draws) == pytest.approx(kept)


def test_a_cut_through_corners_makes_two_triangles() -> None:
    one, other = halved(SQUARE, [p[0] - p[1] for p in SQUARE.points], 1e-3)
    assert one is not None and other is not None
    assert len(one.points) == len(other.points) == 3
    assert area(one) == pytest.approx(50.0) == area(other)


def test_what_leaves_the_window_is_cut_off() -> None:
    planes = [((1.0, 0.0, 0.0), 2.0), ((-1.0, 0.0, 0.0), -5.0), ((0.0, 1.0, 0.0), -3.0), ((0.0, -1.0, 0.0), -20.0)]
    (kept,) = clipped([SQUARE], planes)
    assert area(kept) == pytest.approx(30.0)
    assert clipped([SQUARE], [((1.0, 0.0, 0.0), 11.0)]) == []


def test_a_bent_pipe_is_one_closed_body() -> None:
    runs = pipe(((0.0, 0.0, 0.0), (200.0, 0.0, 0.0), (200.0, 150.0, 40.0)), 30.0, 10, 60.0)
    (mesh,) = body_of(Shown("pipe", "air", runs), (0.0, 0.0, 0.0), 1.0, 0.2).meshes
    assert open_edges(mesh) == []
    length = sum(math.dist(r.a, r.b) for r in runs)
    # Twenty sides: area 10 r2 sin 18 deg instead of pi r2; thinned corners cut a little of the way off.
    assert mesh.volume_mm3 == pytest.approx(10 * 15.0**2 * math.sin(math.radians(18.0)) * length, rel=0.01)


def test_runs_that_don_t_meet_stay_apart() -> None:
    runs = (Capsule((0.0, 0.0, 0.0), (50.0, 0.0, 0.0), 5.0), Capsule((80.0, 0.0, 0.0), (120.0, 0.0, 0.0), 5.0))
    assert len(body_of(Shown("two", "air", runs), (0.0, 0.0, 0.0), 1.0, 0.2).meshes) == 2
