"""Surfaces are drawn so that the nearest one lies on top, also where solids run into each other."""

from __future__ import annotations

import math
import random
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import pytest
from daily import every
from preview_parts import strip_part, worked
from site_scenes import pipe
from test_mesh_of import open_edges

from bracketgen.bending.fold import strip_frame, turned_frame
from bracketgen.drawing.site.scene import Thing, body_of
from bracketgen.drawing.solid.facets import Facet, Ink, clipped, halved, mesh_facets
from bracketgen.drawing.solid.line_view import line_view
from bracketgen.drawing.solid.skin import skin_of
from bracketgen.drawing.solid.solid_mesh import solid_mesh
from bracketgen.drawing.solid.visible import NEARER_MM, Projection, Viewpoint, far_to_near
from bracketgen.geometry.edge import Line
from bracketgen.geometry.plane import Point
from bracketgen.geometry.space import Frame, Vector, dot
from bracketgen.part.part import Way
from bracketgen.vehicle.near.solids import Block, Capsule, Drum, Solid

INK = Ink(0.3)


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


def corners(facet: Facet) -> list[Vector]:
    (ring,) = facet.rings
    return [(x, y, z) for x, y, z in ring.tolist()]


def hit(facet: Facet, view: Viewpoint, p: Point) -> float | None:
    """Depth of a facet over a place on the paper; None where it isn't, or the place is within 0.001 of its edge."""
    flat = [view.flat(v) for v in corners(facet)]
    for a, b in zip(flat, (*flat[1:], flat[0]), strict=True):
        if b.minus(a).cross(p.minus(a)) <= 1e-3 * a.distance(b):
            return None
    # On the facet's plane: right * x + up * y + toward * depth, dotted with the normal.
    x, y = dot(view.right, facet.normal), dot(view.up, facet.normal)
    return (dot(corners(facet)[0], facet.normal) - p.x * x - p.y * y) / dot(view.toward, facet.normal)


@pytest.mark.parametrize("seed", every(range(8), 4))
def test_the_last_drawn_is_the_nearest(seed: int) -> None:
    view = Viewpoint.at(37.0 * seed, 20.0 + 7.0 * seed)
    meshes = (solid_mesh(s, str(i), (90, 90, 90), chord_mm=1.5) for i, s in enumerate(scene(seed)))
    facets = Projection([f for m in meshes for f in mesh_facets(m, INK)], view).facets
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
    for p, q in zip(corners(facet), (*corners(facet)[1:], corners(facet)[0]), strict=True):
        c = (p[1] * q[2] - p[2] * q[1], p[2] * q[0] - p[0] * q[2], p[0] * q[1] - p[1] * q[0])
        total = (total[0] + c[0], total[1] + c[1], total[2] + c[2])
    return (total[0] * x + total[1] * y + total[2] * z) / 2


SQUARE = Facet(
    (np.array(((0.0, 0.0, 0.0), (10.0, 0.0, 0.0), (10.0, 10.0, 0.0), (0.0, 10.0, 0.0))),),
    (0.0, 0.0, 1.0), (9, 9, 9), ((INK, None, INK, None),), "square",
)  # fmt: skip


def test_a_cut_loses_nothing_and_is_not_inked() -> None:
    right, left = halved(SQUARE, (1.0, 0.0, 0.0), 4.0)
    assert right is not None and left is not None
    assert (area(right), area(left)) == (pytest.approx(60.0), pytest.approx(40.0))
    for part, kept in ((right, 12.0), (left, 8.0)):
        sides = zip(corners(part), (*corners(part)[1:], corners(part)[0]), part.inks[0], strict=True)
        assert sum(math.dist(a, b) for a, b, ink in sides if ink) == pytest.approx(kept)
        ((a, b),) = part.seams
        assert {a, b} == {(4.0, 0.0, 0.0), (4.0, 10.0, 0.0)}


def test_a_cut_through_corners_makes_two_triangles() -> None:
    one, other = halved(SQUARE, (1.0, -1.0, 0.0), 0.0)
    assert one is not None and other is not None
    assert len(corners(one)) == len(corners(other)) == 3
    assert area(one) == pytest.approx(50.0) == area(other)


def test_what_leaves_the_window_is_cut_off() -> None:
    planes = [((1.0, 0.0, 0.0), 2.0), ((-1.0, 0.0, 0.0), -5.0), ((0.0, 1.0, 0.0), -3.0), ((0.0, -1.0, 0.0), -20.0)]
    (kept,) = clipped([SQUARE], planes)
    assert area(kept) == pytest.approx(30.0)
    assert clipped([SQUARE], [((1.0, 0.0, 0.0), 11.0)]) == []


U = np.array(
    ((0, 0, 0), (30, 0, 0), (30, 40, 0), (20, 40, 0), (20, 10, 0), (10, 10, 0), (10, 40, 0), (0, 40, 0)), float
)
WINDOW = np.array(((12, 2, 0), (12, 6, 0), (18, 6, 0), (18, 2, 0)), float)
TWO_LEGS = Facet((U, WINDOW), (0.0, 0.0, 1.0), (9, 9, 9), ((INK,) * 8, (INK,) * 4), "u")


@pytest.mark.parametrize(
    ("normal", "offset", "above", "metal"),
    [
        # Across both legs: 2 x 10 wide, 15 long above the cut.
        ((0.0, 1.0, 0.0), 25.0, 300.0, [10.0, 10.0]),
        # Through the window: 30 less 6 of metal, 30 x 6 + 2 x 10 x 30 above it less the window's 6 x 2.
        ((0.0, 1.0, 0.0), 4.0, 768.0, [12.0, 12.0]),
        # Upright through window and web between the legs: half of 876.
        ((1.0, 0.0, 0.0), 15.0, 438.0, [2.0, 4.0]),
    ],
)
def test_a_cut_through_a_face_with_a_bay_and_a_window(
    normal: Vector, offset: float, above: float, metal: list[float]
) -> None:
    """The face of 30 x 10 with two legs of 10 x 30 and a window of 6 x 4 in its foot has 876 mm2."""
    upper, lower = halved(TWO_LEGS, normal, offset)
    assert upper is not None and lower is not None
    areas = [sum(ring_area(r) for r in f.rings) for f in (upper, lower)]
    assert areas == [pytest.approx(above), pytest.approx(876.0 - above)]
    for part in (upper, lower):
        assert sorted(math.dist(a, b) for a, b in part.seams) == pytest.approx(sorted(metal))


def ring_area(ring: npt.NDArray[np.float64]) -> float:
    after = np.roll(ring, -1, axis=0)
    return float((ring[:, 0] * after[:, 1] - ring[:, 1] * after[:, 0]).sum() / 2)


def test_a_seam_that_is_cut_again_stays_on_both_sides() -> None:
    _, lower = halved(TWO_LEGS, (0.0, 1.0, 0.0), 4.0)
    assert lower is not None
    right, left = halved(lower, (1.0, 0.0, 0.0), 6.0)
    assert right is not None and left is not None
    assert sorted(math.dist(a, b) for a, b in left.seams) == pytest.approx([4.0, 6.0])
    assert sorted(math.dist(a, b) for a, b in right.seams) == pytest.approx([4.0, 6.0, 12.0])


@pytest.mark.parametrize("seed", range(4))
def test_what_lies_behind_any_surface_is_hidden(seed: int) -> None:
    view = Viewpoint.at(50.0 * seed, 15.0 + 12.0 * seed)
    meshes = (solid_mesh(s, str(i), (90, 90, 90), chord_mm=1.5) for i, s in enumerate(scene(seed)))
    seen = Projection([f for m in meshes for f in mesh_facets(m, INK)], view)
    dice = random.Random(seed)
    places = [(dice.uniform(-70, 70), dice.uniform(-70, 70), dice.uniform(-70, 70)) for _ in range(150)]
    hidden = seen.hide(np.array(places)).tolist()
    for (x, y, depth), found in zip(places, hidden, strict=True):
        above = [d - depth for f in seen.facets if (d := hit(f, view, Point(x, y))) is not None]
        if all(abs(d - NEARER_MM) > 0.01 for d in above):
            assert found == any(d > NEARER_MM for d in above)
    assert 20 < sum(hidden) < 130


def test_through_a_window_things_are_in_sight() -> None:
    over = Projection([TWO_LEGS], Viewpoint((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)))
    places = np.array(((15.0, 4.0, -5.0), (11.0, 4.0, -5.0), (15.0, 25.0, -5.0), (5.0, 25.0, -5.0), (5.0, 25.0, 5.0)))
    assert over.hide(places).tolist() == [False, True, False, True, False]
    spread, _, areas = over.places()
    assert areas.sum() == pytest.approx(876.0)
    assert all(y < 10.0 or not 10.0 < x < 20.0 for x, y, _ in spread.tolist())
    assert not any(12.0 < x < 18.0 and 2.0 < y < 6.0 for x, y, _ in spread.tolist())


@pytest.mark.parametrize("way", Way)
@pytest.mark.parametrize(("around", "rise"), [(70.0, 35.0), (-80.0, 15.0), (160.0, 62.0)])
def test_a_bend_has_a_line_where_it_turns_away(around: float, rise: float, way: Way) -> None:
    """Looked for by halving the turn between a place that looks to the eye and one that looks away."""
    _, folded = worked(strip_part("bent", 20.0, (40.0, 30.0), ((130.0, way, 5.0),)))
    (bend,), view = folded.part.bends, Viewpoint.at(around, rise)
    drawn = line_view(skin_of(folded), view, 0.001)

    def at(turn: float) -> Frame:
        return turned_frame(bend, 3.0, turn).within(strip_frame(bend, folded.frames[bend.parent]))

    low, high = 0.0, 130.0
    assert (dot(at(low).z, view.toward) > 0.0) is not (dot(at(high).z, view.toward) > 0.0), "nothing to look for"
    for _ in range(50):
        middle = (low + high) / 2
        same = (dot(at(middle).z, view.toward) > 0.0) is (dot(at(low).z, view.toward) > 0.0)
        low, high = (middle, high) if same else (low, middle)
    lines = [Line(a, b) for chain in (*drawn.visible, *drawn.hidden) for a, b in pairwise(chain)]
    for depth in (0.0, 3.0):
        for x in (0.1, 10.0, 19.9):
            place = view.flat(at(low).point((x, 0.0, -depth)))
            assert min(line.nearest(place).distance(place) for line in lines) < 1e-3


def test_a_bent_pipe_is_one_closed_body() -> None:
    runs = pipe(((0.0, 0.0, 0.0), (200.0, 0.0, 0.0), (200.0, 150.0, 40.0)), 30.0, 10, 60.0)
    (mesh,) = body_of(Thing("pipe", "air", runs), (0.0, 0.0, 0.0), 1.0, 0.2).meshes
    assert open_edges(mesh) == []
    length = sum(math.dist(r.a, r.b) for r in runs)
    # Twenty sides: area 10 r2 sin 18 deg instead of pi r2; thinned corners cut a little of the way off.
    assert mesh.volume_mm3 == pytest.approx(10 * 15.0**2 * math.sin(math.radians(18.0)) * length, rel=0.01)


def test_runs_that_don_t_meet_stay_apart() -> None:
    runs = (Capsule((0.0, 0.0, 0.0), (50.0, 0.0, 0.0), 5.0), Capsule((80.0, 0.0, 0.0), (120.0, 0.0, 0.0), 5.0))
    assert len(body_of(Thing("two", "air", runs), (0.0, 0.0, 0.0), 1.0, 0.2).meshes) == 2
