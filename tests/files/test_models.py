"""The folded part alone as STL, 3MF and GLB: closed, turned outward, as large as its chords allow; read by others."""

from __future__ import annotations

import io
import math
from collections import Counter
from dataclasses import replace
from functools import cache

import pytest
from glb_reading import numbers, taken_apart
from parts import l_part, plate, round_hole
from printed_models import Facet, open_sides, read_3mf, read_stl, volume
from random_trees import random_tree
from sample_parts import SHAPES, sample_texts

from bracketgen.bending.fold import fold, folded_volume_mm3
from bracketgen.drawing.solid.mesh import CHORD_MM, Mesh, folded_model, pieces_of
from bracketgen.errors import GeometryFault, InputFaults, WriteFault
from bracketgen.files.glb import glb_bytes
from bracketgen.files.print_models import stl_bytes, three_mf_bytes
from bracketgen.geometry.contour import box_contour, closed_chain
from bracketgen.geometry.edge import Arc, Line
from bracketgen.geometry.plane import Point
from bracketgen.part.part import Bend, Panel, Part, Way
from bracketgen.pipeline import Made, Outputs, files_of, work_out

SHAPE_NAMES = sorted(path.stem for path in SHAPES.glob("*.toml"))
#: Single floats, in mm from zero or in metres, move a surface by less than this, mm: 2^-24 of half a metre.
FLOAT_MM = 3e-5
#: Trees in which the relief of one bend takes metal at another bend's tangent line, or a panel is wider than its strip.
OVERHANGS = (9, 31, 212, 280, 314, 340)


@cache
def made_of(shape: str) -> Made:
    return work_out(*_described(shape))


def _described(shape: str) -> tuple[str, str, str, None, str]:
    text, folder = sample_texts()[f"shapes/{shape}"]
    return text, f"{shape}.toml", shape, None, folder


@cache
def files(shape: str) -> dict[str, bytes]:
    return files_of(made_of(shape), Outputs.STL | Outputs.THREE_MF | Outputs.GLB | Outputs.STEP)


def round_mm2(part: Part) -> float:
    """Area of all round faces of the folded part: arcs of the panels, inside and outside of the bends."""
    t = part.stock.thickness_mm
    chains = [c for p in part.panels for c in (p.outline, *(h.cut.contour() for h in p.holes))]
    arcs = math.fsum(e.length for c in chains for e in c.edges if isinstance(e, Arc))
    bent = math.fsum(b.width_mm * math.radians(b.turn_deg) * (2 * b.inside_radius_mm + t) for b in part.bends)
    return arcs * t + bent


def all_mm2(part: Part) -> float:
    """More than the area of all faces."""
    panels = math.fsum(2 * p.outline.area + p.outline.length * part.stock.thickness_mm for p in part.panels)
    holes = math.fsum(h.cut.contour().length * part.stock.thickness_mm for p in part.panels for h in p.holes)
    return panels + holes + 2 * round_mm2(part)


def hold(facets: list[Facet], part: Part, surface_mm: float) -> None:
    """Closed, turned outward, and as large as the metal but for the chords and what moves the whole surface."""
    assert open_sides(facets) == []
    spare = CHORD_MM * round_mm2(part) + surface_mm * all_mm2(part)
    assert volume(facets) == pytest.approx(folded_volume_mm3(part), abs=spare)


@pytest.mark.parametrize("shape", SHAPE_NAMES)
def test_stl_of_every_shape(shape: str) -> None:
    found = read_stl(files(shape)[f"{shape}.stl"])
    hold(found.facets, made_of(shape).job.part, FLOAT_MM)
    assert min(c for f in found.facets for p in f for c in p) == 0.0
    assert (
        found.header.startswith(b"bracketgen, mm: bracketgen-mark ")
        and b" facets within 0.02 mm" in found.header
        and found.header.isascii()
    )
    for normal, (a, b, c) in zip(found.normals, found.facets, strict=True):
        u, v = ([q - p for p, q in zip(a, d, strict=True)] for d in (b, c))
        out = [u[i - 2] * v[i - 1] - u[i - 1] * v[i - 2] for i in range(3)]
        size = math.hypot(*out)
        if size > 1e-3:
            assert normal == pytest.approx([n / size for n in out], abs=1e-6)


@pytest.mark.parametrize("shape", SHAPE_NAMES)
def test_3mf_of_every_shape(shape: str) -> None:
    found = read_3mf(files(shape)[f"{shape}.3mf"])
    part = made_of(shape).job.part
    hold(found.facets, part, 1e-7)
    assert min(c for p in found.points for c in p) == 0.0
    assert all(len(set(t)) == 3 for t in found.triangles)
    assert found.metadata["Title"] == part.title and found.name == shape
    assert "within 0.02 mm" in found.metadata["Description"]
    assert all(caution in found.metadata["Description"] for caution in part.cautions)


@pytest.mark.parametrize("shape", SHAPE_NAMES)
def test_glb_of_every_shape(shape: str) -> None:
    tables, body = taken_apart(files(shape)[f"{shape}.glb"])
    assert [n["name"] for n in tables["nodes"]] == [shape]
    assert tables["asset"]["extras"]["cautions"] == list(made_of(shape).job.part.cautions)
    ((drawn,),) = (m["primitives"] for m in tables["meshes"])
    rows = [tuple(1000.0 * c for c in r) for r in numbers(tables, body, drawn["attributes"]["POSITION"])]
    places = [int(i) for (i,) in numbers(tables, body, drawn["indices"])]
    facets = [tuple(rows[i] for i in places[n : n + 3]) for n in range(0, len(places), 3)]
    hold(facets, made_of(shape).job.part, FLOAT_MM)  # type: ignore[arg-type]


@pytest.mark.parametrize("shape", SHAPE_NAMES)
def test_step_of_every_shape_says_its_cautions(shape: str) -> None:
    text = files(shape)[f"{shape}.step"].decode("ascii")
    (product,) = [line for line in text.splitlines() if "=PRODUCT(" in line]
    cautions = made_of(shape).job.part.cautions
    assert cautions and all(c.replace("'", "''") in product for c in cautions)


def test_random_trees_close_too() -> None:
    made = 0
    for seed in (*range(20), *OVERHANGS[1:]):
        try:
            part = work_out(random_tree(seed).text, "part.toml", "part").job.part
        except InputFaults:
            continue
        made += 1
        mesh = folded_model(fold(part), "part").mesh
        hold([tuple(mesh.points[i] for i in t) for t in mesh.triangles], part, 1e-9)  # type: ignore[arg-type]
    assert made >= 20


def test_a_round_hole_is_a_polygon_of_a_known_area() -> None:
    # Radius 5, chord error 0.02: half a piece is arccos(1 - 0.02/5) = 0.08947 rad, so a half turn takes 17.56, 18.
    assert pieces_of(5.0, math.pi, 0.02) == 18
    mesh = folded_model(fold(plate(box_contour(0, 0, 60, 40), [round_hole("h", 30, 20, 10)])), "plate").mesh
    hole = 36 / 2 * 5.0**2 * math.sin(math.tau / 36)
    assert mesh.volume_mm3 == pytest.approx(3.0 * (60 * 40 - hole), rel=1e-12)


@pytest.mark.parametrize(("radius", "chord"), [(0.005, 0.02), (0.02, 0.02), (3.0, 0.02), (500.0, 0.02), (8.0, 1.0)])
def test_pieces_of_an_arc_keep_the_chord_error(radius: float, chord: float) -> None:
    for sweep in (0.01, 1.0, math.pi):
        half = sweep / pieces_of(radius, sweep, chord) / 2
        assert radius * (1 - math.cos(half)) <= chord * (1 + 1e-5)
        assert pieces_of(radius, sweep, chord) >= 2


def test_coarser_chords_give_fewer_facets() -> None:
    from bracketgen.drawing.solid.mesh import skin_mesh

    skin = folded_model(fold(l_part(inside_radius=4.0)), "l").skin
    counts = [len(skin_mesh(skin, "l", (0, 0, 0), chord_mm=c).triangles) for c in (0.001, 0.02, 1.0)]
    assert counts == sorted(counts, reverse=True) and len(set(counts)) == 3
    with pytest.raises(ValueError, match="above 0"):
        skin_mesh(skin, "l", (0, 0, 0), chord_mm=0.0)


# -- what no solid can be made of


def test_holes_that_cross_have_no_model() -> None:
    holes = [round_hole("a", 20, 20, 12), round_hole("b", 28, 20, 12)]
    with pytest.raises(GeometryFault, match="holes touch or cross"):
        folded_model(fold(plate(box_contour(0, 0, 60, 40), holes)), "plate")
    with pytest.raises(GeometryFault, match="holes touch or cross"):
        folded_model(fold(plate(box_contour(0, 0, 60, 40), [round_hole("a", 0, 20, 12)])), "plate")


def corner_of_two_flanges(reach: float) -> Part:
    """Flanges on the upper and the right edge of a base of 60 x 40, inside radius 2.

    Their inner faces stand at y = 42 and x = 62. The right one goes to y = 42; the upper one to x = 60 + `reach`.
    """
    north = ((0, 0), (60, 0), (60, 6), (60 + reach, 6), (60 + reach, 30), (0, 30))
    # Its x runs against the base's y, so that it reaches out to its own left.
    east = ((0, 0), (40, 0), (40, 30), (-2, 30), (-2, 6), (0, 6))
    own = [Line(Point(0.0, 0.0), Point(width, 0.0)) for width in (60.0, 40.0)]
    panels = [Panel(name, closed_chain([Point(*p) for p in c])) for name, c in (("north", north), ("east", east))]
    base = box_contour(0, 0, 60, 40)
    bends = (
        Bend("bend 1", "base", "north", Line(Point(0.0, 40.0), Point(60.0, 40.0)), own[0], 90.0, Way.UP, 2.0),
        Bend("bend 2", "base", "east", Line(Point(60.0, 40.0), Point(60.0, 0.0)), own[1], 90.0, Way.UP, 2.0),
    )
    return replace(plate(base), panels=(Panel("base", base), *panels), bends=bends)


def test_panels_that_touch_along_an_edge_have_no_model() -> None:
    with pytest.raises(GeometryFault, match=r"touches itself at \(62.00, 42.00, ") as fault:
        folded_model(fold(corner_of_two_flanges(2.0)), "corner")
    assert "gap" in fault.value.cure
    assert folded_model(fold(corner_of_two_flanges(1.5)), "corner").mesh.open_edges() == []


TETRAHEDRON = Mesh(
    "tip",
    (0, 0, 0),
    ((0.0, 0.0, 0.0), (6.0, 0.0, 0.0), (0.0, 6.0, 0.0), (0.0, 0.0, 6.0)),
    ((0, 2, 1), (0, 1, 3), (0, 3, 2), (1, 2, 3)),
)


def test_an_open_mesh_is_refused() -> None:
    bent = replace(TETRAHEDRON, triangles=TETRAHEDRON.triangles[:3])
    with pytest.raises(WriteFault, match=r"tip\.stl was not written"):
        stl_bytes(bent, "")
    with pytest.raises(WriteFault, match=r"tip\.3mf was not written"):
        three_mf_bytes(bent, "", "")


def test_corners_that_a_file_can_not_tell_apart_become_one() -> None:
    # A fifth corner 1e-9 mm beside another, with two facets between: both files hold the tetrahedron, 6^3 / 6 mm3.
    points = (*TETRAHEDRON.points, (6.0 + 1e-9, 0.0, 0.0))
    faces = ((0, 2, 1), (0, 1, 4), (1, 2, 4), (0, 4, 3), (0, 3, 2), (4, 2, 3))
    split = replace(TETRAHEDRON, points=points, triangles=faces)
    assert split.open_edges() == []
    for facets in (read_stl(stl_bytes(split, "")).facets, read_3mf(three_mf_bytes(split, "", "")).facets):
        assert len(facets) == 4 and open_sides(facets) == []
        assert volume(facets) == pytest.approx(36.0)


def test_files_stand_at_zero_wherever_the_part_lies() -> None:
    moved = replace(TETRAHEDRON, points=tuple((x - 700.0, y + 3.0, z - 0.1) for x, y, z in TETRAHEDRON.points))
    for facets in (read_stl(stl_bytes(moved, "")).facets, read_3mf(three_mf_bytes(moved, "", "")).facets):
        corners = [p for f in facets for p in f]
        assert [min(p[k] for p in corners) for k in range(3)] == [0.0, 0.0, 0.0]
        assert [max(p[k] for p in corners) for k in range(3)] == pytest.approx([6.0, 6.0, 6.0], abs=1e-6)


def test_odd_words_come_through() -> None:
    said = 'Träger <A> & "B"\x07\nnext  架'
    found = read_3mf(three_mf_bytes(replace(TETRAHEDRON, name="a<&\"'>"), said, said))
    assert found.metadata["Title"] == found.metadata["Description"] == 'Träger <A> & "B" next 架'
    assert found.name == "a<&\"'>"
    header = read_stl(stl_bytes(TETRAHEDRON, "ä" * 200)).header
    assert header.decode("ascii").startswith("bracketgen, mm: ???")


def test_every_side_of_the_mesh_belongs_to_two_facets_by_number() -> None:
    mesh = folded_model(fold(l_part(inside_radius=0.0)), "sharp").mesh
    sides = Counter(frozenset((t[i], t[(i + 1) % 3])) for t in mesh.triangles for i in range(3))
    assert set(sides.values()) == {2}


@pytest.mark.oracle
@pytest.mark.parametrize("shape", SHAPE_NAMES)
def test_an_independent_library_finds_one_watertight_body(shape: str) -> None:
    trimesh = pytest.importorskip("trimesh")
    held, part = files(shape), made_of(shape).job.part
    printed = read_3mf(held[f"{shape}.3mf"])
    bodies = {
        "stl": trimesh.load_mesh(io.BytesIO(held[f"{shape}.stl"]), file_type="stl"),
        "3mf": trimesh.Trimesh(printed.points, printed.triangles),
        "glb": trimesh.load_scene(io.BytesIO(held[f"{shape}.glb"]), file_type="glb").to_mesh().apply_scale(1000.0),
    }
    spare = CHORD_MM * round_mm2(part) + FLOAT_MM * all_mm2(part)
    for kind, body in bodies.items():
        assert body.is_watertight and body.is_winding_consistent and body.is_volume, kind
        assert body.volume == pytest.approx(folded_volume_mm3(part), abs=spare), kind
        # One body: bodies less tunnels is half of corners - edges + facets (Euler and Poincare).
        assert body.euler_number == 2 - 2 * tunnels(part), kind


def tunnels(part: Part) -> int:
    """Each hole is one; the shapes fold into no closed ring."""
    return sum(len(p.holes) for p in part.panels)


def test_glb_of_one_mesh_says_no_cautions_when_there_are_none() -> None:
    tables, _ = taken_apart(glb_bytes([TETRAHEDRON]))
    assert "extras" not in tables["asset"]
