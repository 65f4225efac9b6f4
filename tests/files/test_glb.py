"""The 3D file: laid out as the standard prints it, upright, in metres, the same bytes every time."""

from __future__ import annotations

import io
import math
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from glb_reading import numbers, taken_apart
from hypothesis import given, settings
from hypothesis import strategies as st
from preview_parts import l_bracket, worked

from bracketgen.drawing.sheet import Colour
from bracketgen.drawing.solid.mesh import Finish, Mesh
from bracketgen.drawing.solid.solid_mesh import part_meshes, solid_mesh
from bracketgen.files.glb import glb_bytes, write_glb
from bracketgen.geometry.space import Frame, Vector
from bracketgen.vehicle.near.solids import Block, Capsule, Drum

STEEL: Colour = (150, 160, 170)


def scene() -> list[Mesh]:
    """A bracket, a can, a pipe and the room the can needs."""
    _, folded = worked(l_bracket())
    can = Drum((20.0, 30.0, 40.0), (20.0, 30.0, 140.0), 38.0)
    return [
        *part_meshes(folded, Frame(), STEEL, chord_mm=0.1),
        solid_mesh(can, "can", (40, 110, 90), chord_mm=0.2),
        solid_mesh(Capsule((0.0, 0.0, 0.0), (100.0, 0.0, 0.0), 25.0), "Ladeluftrohr Ø50", STEEL, chord_mm=0.2),
        solid_mesh(can, "room of the can", (40, 110, 90), chord_mm=0.5, finish=Finish.GHOST),
    ]


def test_layout_is_the_one_the_standard_prints() -> None:
    meshes = scene()
    tables, body = taken_apart(glb_bytes(meshes))
    assert tables["asset"]["version"] == "2.0"
    # 3.6.1: one buffer, the binary chunk, which may be up to 3 bytes longer than said.
    assert len(tables["buffers"]) == 1 and 0 <= len(body) - tables["buffers"][0]["byteLength"] <= 3
    end = 0
    for view in tables["bufferViews"]:
        assert view["byteOffset"] == end and view["byteOffset"] % 4 == 0
        end += view["byteLength"]
    assert end == tables["buffers"][0]["byteLength"]
    assert [n["name"] for n in tables["nodes"]] == [m.name for m in meshes]
    assert sorted(tables["scenes"][tables["scene"]]["nodes"]) == list(range(len(meshes)))


def test_every_accessor_says_its_true_least_and_greatest() -> None:
    meshes = scene()
    tables, body = taken_apart(glb_bytes(meshes))
    for node, mesh in zip(tables["nodes"], meshes, strict=True):
        (drawn,) = tables["meshes"][node["mesh"]]["primitives"]
        rows = numbers(tables, body, drawn["attributes"]["POSITION"])
        accessor = tables["accessors"][drawn["attributes"]["POSITION"]]
        assert len(rows) == len(mesh.points)
        for k in range(3):
            assert accessor["min"][k] == min(r[k] for r in rows)
            assert accessor["max"][k] == max(r[k] for r in rows)
        places = [int(i) for (i,) in numbers(tables, body, drawn["indices"])]
        assert places == [i for t in mesh.triangles for i in t]
        assert max(places) < len(rows)
        view = tables["bufferViews"][accessor["bufferView"]]
        assert view["target"] == 34962 and view["byteLength"] == 12 * len(rows)


def test_metres_and_y_up() -> None:
    """What stands 1000 mm above the described face stands 1 m up; what lies toward +y lies away from the eye."""
    block = Block(Frame((100.0, 20.0, 1000.0)), (1.0, 1.0, 1.0))
    tables, _ = taken_apart(glb_bytes([solid_mesh(block, "b", STEEL, chord_mm=0.1)]))
    low, high = tables["accessors"][0]["min"], tables["accessors"][0]["max"]
    assert [(a + b) / 2 for a, b in zip(low, high, strict=True)] == pytest.approx([0.1, 1.0, -0.02], abs=1e-6)


unit = st.floats(-1.0, 1.0)


@given(st.tuples(unit, unit, unit).filter(lambda v: math.hypot(*v) > 0.1))
@settings(max_examples=60, deadline=None)
def test_any_direction_can_stand_upright_and_nothing_is_mirrored(up: Vector) -> None:
    points = [(0.0, 0.0, 0.0), (1000.0, 0.0, 0.0), (0.0, 1000.0, 0.0), (0.0, 0.0, 1000.0)]
    mesh = Mesh("corner", STEEL, tuple(points), ((0, 2, 1), (0, 1, 3), (0, 3, 2), (1, 2, 3)))
    tables, body = taken_apart(glb_bytes([mesh], up))
    o, x, y, z = numbers(tables, body, 0)
    assert o == (0.0, 0.0, 0.0)
    size = math.hypot(*up)
    assert [x[1], y[1], z[1]] == pytest.approx([c / size for c in up], abs=1e-6)
    triple = sum(x[i] * (y[(i + 1) % 3] * z[(i + 2) % 3] - y[(i + 2) % 3] * z[(i + 1) % 3]) for i in range(3))
    assert triple == pytest.approx(1.0, abs=1e-5)


def materials(tables: dict[str, Any]) -> list[list[float]]:
    return [m["pbrMetallicRoughness"]["baseColorFactor"] for m in tables["materials"]]


def test_colours_are_shares_of_light_and_ghosts_let_it_through() -> None:
    # sRGB level 188 of 255 is half of the light (IEC 61966-2-1: 0.5029), 255 all of it, 0 none.
    block = Block(Frame(), (1.0, 1.0, 1.0))
    meshes = [
        solid_mesh(block, "a", (255, 188, 0), chord_mm=0.1),
        solid_mesh(block, "b", (255, 188, 0), chord_mm=0.1),
        solid_mesh(block, "c", (255, 188, 0), chord_mm=0.1, finish=Finish.GHOST),
    ]
    tables, _ = taken_apart(glb_bytes(meshes))
    assert len(tables["materials"]) == 2
    solid, ghost = materials(tables)
    assert solid == pytest.approx([1.0, 0.5029, 0.0, 1.0], abs=1e-4)
    assert [m["alphaMode"] for m in tables["materials"]] == ["OPAQUE", "BLEND"]
    assert 0.0 < ghost[3] < 0.5
    assert [tables["meshes"][i]["primitives"][0]["material"] for i in range(3)] == [0, 0, 1]


def test_no_mesh_is_no_file(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="needs a mesh"):
        write_glb([], tmp_path / "empty.glb")
    assert list(tmp_path.iterdir()) == []


_PRINT = (
    "import sys; from test_glb import scene; from bracketgen.files.glb import glb_bytes;"
    "sys.stdout.buffer.write(glb_bytes(scene()))"
)


_TESTS = (Path(__file__).parent, Path(__file__).parents[1] / "support")


def test_the_same_bytes_under_other_hash_seeds(tmp_path: Path) -> None:
    root = Path(__file__).parents[2]
    made = [
        subprocess.run(
            [sys.executable, "-c", _PRINT],
            cwd=tmp_path,
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": os.pathsep.join(str(p) for p in (root, *_TESTS))},
            capture_output=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    ]
    assert made[0] == made[1] == glb_bytes(scene())


@pytest.mark.oracle
def test_an_independent_reader_finds_closed_bodies_in_their_places() -> None:
    trimesh = pytest.importorskip("trimesh")
    meshes = scene()
    read = trimesh.load(io.BytesIO(glb_bytes(meshes)), file_type="glb")
    assert set(read.geometry) == {m.name for m in meshes}
    for mesh in meshes:
        transform, geometry = read.graph[mesh.name]
        found = read.geometry[geometry].copy().apply_transform(transform)
        assert found.is_watertight and found.is_winding_consistent, mesh.name
        assert found.volume * 1e9 == pytest.approx(mesh.volume_mm3, rel=1e-5)
        xs, ys, zs = zip(*mesh.points, strict=True)
        wanted = [[min(xs), min(zs), -max(ys)], [max(xs), max(zs), -min(ys)]]
        for row, low_high in zip(found.bounds, wanted, strict=True):
            assert [c * 1e3 for c in row] == pytest.approx(low_high, abs=1e-3)
