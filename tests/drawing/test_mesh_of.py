"""Meshes of solids: closed, turned outward, as large as the closed formulas say less what the chords cut off."""

from __future__ import annotations

import math
from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from preview_parts import KINDS, worked

from bracketgen.bending.fold import folded_volume_mm3
from bracketgen.drawing.solid.mesh import Mesh
from bracketgen.drawing.solid.solid_mesh import PATCH_THICK_MM, part_meshes, solid_mesh
from bracketgen.errors import GeometryFault
from bracketgen.geometry.contour import Circle, box_contour
from bracketgen.geometry.edge import Arc
from bracketgen.geometry.plane import Point
from bracketgen.geometry.space import Frame, Vector
from bracketgen.vehicle.near.solids import Block, Bow, Capsule, Drum, Plate, Solid, Wall, metal_solids

GREY = (150, 150, 150)

coordinate = st.floats(-300.0, 300.0)
place = st.tuples(coordinate, coordinate, coordinate)
radius = st.floats(0.5, 120.0)
chord = st.sampled_from([0.02, 0.1, 1.0])


def open_edges(mesh: Mesh) -> list[tuple[int, int]]:
    """Edges that aren't run along exactly once each way: none in a closed surface with one outside."""
    runs = Counter((t[i], t[(i + 1) % 3]) for t in mesh.triangles for i in range(3))
    return [(a, b) for (a, b), n in runs.items() if n != 1 or runs[(b, a)] != 1]


def meshed(solid: Solid, chord_mm: float) -> Mesh:
    mesh = solid_mesh(solid, "solid", GREY, chord_mm=chord_mm)
    assert open_edges(mesh) == []
    return mesh


def dist_to_segment(p: Vector, a: Vector, b: Vector) -> float:
    d = [y - x for x, y in zip(a, b, strict=True)]
    length = sum(c * c for c in d)
    along = sum((q - x) * c for q, x, c in zip(p, a, d, strict=True)) / length if length else 0.0
    u = min(1.0, max(0.0, along))
    return math.dist(p, [x + u * c for x, c in zip(a, d, strict=True)])


def middles(mesh: Mesh) -> list[Vector]:
    """The middle of every triangle, where it is farthest from a round surface."""
    made = []
    for t in mesh.triangles:
        a, b, c = (mesh.points[i] for i in t)
        made.append(tuple((p + q + r) / 3 for p, q, r in zip(a, b, c, strict=True)))
    return made  # type: ignore[return-value]


@pytest.mark.sweep
@given(place, place, radius, chord)
@settings(max_examples=40, deadline=None)
def test_capsule(a: Vector, b: Vector, r: float, chord_mm: float) -> None:
    mesh = meshed(Capsule(a, b, r), chord_mm)
    length = math.dist(a, b)
    true = math.pi * r**2 * length + 4 / 3 * math.pi * r**3
    skin = 2 * math.pi * r * length + 4 * math.pi * r**2
    assert true - skin * chord_mm <= mesh.volume_mm3 <= true * (1 + 1e-9)
    assert all(abs(dist_to_segment(p, a, b) - r) < 1e-6 for p in mesh.points)
    assert all(r - chord_mm - 1e-6 <= dist_to_segment(p, a, b) <= r + 1e-6 for p in middles(mesh))


def test_a_capsule_without_length_is_a_ball() -> None:
    mesh = meshed(Capsule((1.0, 2.0, 3.0), (1.0, 2.0, 3.0), 10.0), 0.01)
    assert mesh.volume_mm3 == pytest.approx(4 / 3 * math.pi * 1000.0, rel=0.003)


@given(place, place, radius, chord)
@settings(max_examples=40, deadline=None)
def test_drum(a: Vector, b: Vector, r: float, chord_mm: float) -> None:
    if math.dist(a, b) < 1.0:
        return
    mesh = meshed(Drum(a, b, r), chord_mm)
    length = math.dist(a, b)
    true = math.pi * r**2 * length
    assert true - 2 * math.pi * r * length * chord_mm <= mesh.volume_mm3 <= true * (1 + 1e-9)


def test_block_and_wall() -> None:
    c, s = math.cos(0.4), math.sin(0.4)
    frame = Frame((5.0, 6.0, 7.0), (c, s, 0.0), (-s, c, 0.0))
    assert meshed(Block(frame, (10.0, 20.0, 30.0)), 1.0).volume_mm3 == pytest.approx(8 * 6000.0)
    patch = solid_mesh(Wall((1.0, 2.0, 3.0), (0.0, 0.6, 0.8)), "bulkhead", GREY, chord_mm=1.0, patch_mm=100.0)
    assert open_edges(patch) == []
    assert patch.volume_mm3 == pytest.approx(200.0**2 * PATCH_THICK_MM)
    heights = {round((p[1] - 2.0) * 0.6 + (p[2] - 3.0) * 0.8, 9) for p in patch.points}
    assert heights == {0.0, -PATCH_THICK_MM}


@given(st.floats(1.0, 135.0), st.floats(0.5, 20.0), st.floats(0.5, 10.0), st.floats(5.0, 200.0), chord)
@settings(max_examples=60, deadline=None)
def test_bow(turn: float, inner: float, thick: float, width: float, chord_mm: float) -> None:
    mesh = meshed(Bow(Frame((1.0, 2.0, 3.0)), width, inner, inner + thick, turn), chord_mm)
    true = width * math.radians(turn) / 2 * ((inner + thick) ** 2 - inner**2)
    skin = width * math.radians(turn) * (inner + thick)
    # What the outer chords cut off, the inner ones add.
    assert abs(mesh.volume_mm3 - true) <= skin * chord_mm * (1 + 1e-9) + 1e-9 * true
    reach = [math.hypot(y - 2.0, z - 3.0) for _, y, z in mesh.points]
    assert all(min(abs(r - inner), abs(r - inner - thick)) < 1e-9 for r in reach)
    # It starts straight below its axis and turns toward +y.
    assert min(z for _, _, z in mesh.points) == pytest.approx(3.0 - inner - thick)
    assert min(y for _, y, _ in mesh.points) == pytest.approx(2.0)


@given(st.integers(0, 12), chord)
@settings(max_examples=30, deadline=None)
def test_plate_with_true_holes(count: int, chord_mm: float) -> None:
    holes = tuple(Circle(Point(20.0 + 30.0 * (i % 4), 20.0 + 30.0 * (i // 4)), 3.0 + 0.7 * i) for i in range(count))
    mesh = meshed(Plate(Frame((0.0, 0.0, 50.0)), box_contour(0.0, 0.0, 130.0, 100.0), holes, -4.0, 0.0), chord_mm)
    true = 4.0 * (13000.0 - sum(h.area for h in holes))
    lost = 4.0 * chord_mm * sum(h.length for h in holes)
    assert true - 1e-6 <= mesh.volume_mm3 <= true + lost + 1e-6
    assert {p[2] for p in mesh.points} == {46.0, 50.0}


def test_holes_that_touch_are_refused() -> None:
    holes = (Circle(Point(20.0, 20.0), 6.0), Circle(Point(28.0, 20.0), 6.0))
    with pytest.raises(GeometryFault):
        solid_mesh(Plate(Frame(), box_contour(0.0, 0.0, 50.0, 40.0), holes, -3.0, 0.0), "p", GREY, chord_mm=0.1)


def test_a_chord_error_is_needed() -> None:
    with pytest.raises(ValueError, match="above 0"):
        solid_mesh(Block(Frame(), (1.0, 1.0, 1.0)), "b", GREY, chord_mm=0.0)


def rounds_mm(folded_part: object) -> float:
    """Length of all arcs and circles of a part's panels."""
    chains = [c for p in folded_part.panels for c in (p.outline, *(h.cut.contour() for h in p.holes))]  # type: ignore[attr-defined]
    return sum(e.length for c in chains for e in c.edges if isinstance(e, Arc))


@pytest.mark.parametrize("kind", KINDS)
def test_the_folded_part_is_closed_and_as_large_as_its_metal(kind: str) -> None:
    _, folded = worked(KINDS[kind]())
    part, t = folded.part, folded.part.stock.thickness_mm
    meshes = part_meshes(folded, Frame(), GREY, chord_mm=0.02)
    assert [m.name for m in meshes] == [f"part: panel {p.id}" for p in part.panels] + [
        f"part: bend {b.id.removeprefix('bend ')}" for b in part.bends
    ]
    assert all(open_edges(m) == [] for m in meshes)
    bent = sum(b.width_mm * math.radians(b.turn_deg) * (b.inside_radius_mm + t) for b in part.bends)
    spare = 0.02 * (rounds_mm(part) * t + bent)
    assert sum(m.volume_mm3 for m in meshes) == pytest.approx(folded_volume_mm3(part), abs=spare + 1e-6)


@pytest.mark.parametrize("kind", ["l_bracket", "joggle", "box_tray", "long_rail"])
def test_bends_join_their_panels(kind: str) -> None:
    """The corners of each bow's ends are the ends of the seams of its two panels, on both faces."""
    _, folded = worked(KINDS[kind]())
    solids = dict(metal_solids(folded, Frame()))
    t = folded.part.stock.thickness_mm
    for bend in folded.part.bends:
        mesh = solid_mesh(solids[bend.id], "bow", GREY, chord_mm=0.1)
        for panel, line in ((bend.parent, bend.parent_line), (bend.child, bend.child_line)):
            for end in (line.start, line.end):
                for depth in (0.0, t):
                    corner = folded.point(panel, end, depth)
                    assert min(math.dist(corner, p) for p in mesh.points) < 1e-6


@pytest.mark.oracle
def test_an_independent_library_agrees_on_volume_and_shape() -> None:
    trimesh = pytest.importorskip("trimesh")
    _, folded = worked(KINDS["u_bracket"]())
    solids: list[Solid] = [s for _, s in metal_solids(folded, Frame())]
    solids += [Capsule((0.0, 1.0, 2.0), (30.0, 40.0, 50.0), 12.0), Drum((0.0, 0.0, 0.0), (9.0, 9.0, 90.0), 40.0)]
    for solid in solids:
        mesh = solid_mesh(solid, "solid", GREY, chord_mm=0.05)
        found = trimesh.Trimesh(mesh.points, mesh.triangles, process=False)
        assert found.is_watertight and found.is_winding_consistent and found.is_volume
        assert found.volume == pytest.approx(mesh.volume_mm3, rel=1e-9)
    capsule = solid_mesh(solids[-2], "solid", GREY, chord_mm=0.05)
    height = math.dist((0.0, 1.0, 2.0), (30.0, 40.0, 50.0))
    other = trimesh.creation.capsule(height=height, radius=12.0, count=[200, 200])
    assert capsule.volume_mm3 == pytest.approx(other.volume, rel=0.01)
