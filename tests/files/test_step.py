"""The folded part as STEP: a closed skin, text in the standard's form, and what an independent kernel reads."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from pathlib import Path

import pytest
from parts import l_part, plate, round_hole
from random_trees import random_tree
from sample_parts import SHAPES
from whole_way import whole_way

from bracketgen.bending.fold import fold, folded_volume_mm3
from bracketgen.drawing.solid.skin import Cylinder, Plane, Skin, skin_of
from bracketgen.errors import InputFaults, WriteFault
from bracketgen.files.step import step_bytes
from bracketgen.geometry.contour import box_contour
from bracketgen.part.part import Way


def test_a_plate_with_a_hole_has_eight_faces() -> None:
    # Two faces, four walls, the hole's wall in two halves.
    skin = skin_of(fold(plate(box_contour(0, 0, 60, 40), [round_hole("h", 30, 20, 9)])))
    assert len(skin.faces) == 8
    assert len(skin.corners) == 8 + 4
    # Euler: corners - edges + faces - (loops beyond one a face) = 2 - 2 x holes through.
    rings = sum(len(f.loops) - 1 for f in skin.faces)
    assert len(skin.corners) - len(skin.rims) + len(skin.faces) - rings == 0


@pytest.mark.parametrize("way", [Way.UP, Way.DOWN])
@pytest.mark.parametrize("turn", [30.0, 90.0, 135.0])
def test_a_bend_has_two_true_cylinders(way: Way, turn: float) -> None:
    skin = skin_of(fold(l_part(inside_radius=4.0, turn_deg=turn, way=way)))
    rounds = [f.surface for f in skin.faces if isinstance(f.surface, Cylinder)]
    assert sorted((r.radius, r.hollow) for r in rounds) == [(4.0, True), (7.0, False)]
    assert sum(isinstance(f.surface, Plane) for f in skin.faces) == 4 + 6 + 2
    assert not skin.open_rims()


def test_a_sharp_bend_has_no_inner_cylinder() -> None:
    skin = skin_of(fold(l_part(inside_radius=0.0)))
    assert [f.surface.radius for f in skin.faces if isinstance(f.surface, Cylinder)] == [3.0]
    assert not skin.open_rims()


def test_an_open_skin_is_refused() -> None:
    skin = skin_of(fold(l_part()))
    skin.faces.pop()
    with pytest.raises(WriteFault, match="open"):
        step_bytes(skin, "part", "Part")


def test_text_is_in_the_standards_form() -> None:
    skin = skin_of(fold(plate(box_contour(0, 0, 60, 40), [round_hole("h", 30, 20, 9)])))
    text = step_bytes(skin, "part", "Träger 'A'").decode("ascii")
    assert text.startswith("ISO-10303-21;\nHEADER;")
    assert text.endswith("ENDSEC;\nEND-ISO-10303-21;\n")
    assert "'Tr\\X2\\00E4\\X0\\ger ''A'''" in text
    numbers = [int(n) for n in re.findall(r"^#(\d+)=", text, re.M)]
    assert numbers == list(range(1, len(numbers) + 1))
    # Every instance is defined before it is used, and reals carry a point.
    for line in text.splitlines():
        if line.startswith("#"):
            own, rest = line.split("=", 1)
            assert all(int(n) < int(own[1:]) for n in re.findall(r"#(\d+)", rest))
    assert "e-" not in text
    assert "'Keep clear of ''it''.'" in step_bytes(skin, "part", "Part", ["Keep clear of 'it'."]).decode("ascii")
    assert step_bytes(skin, "part", "Träger 'A'") == step_bytes(skin, "part", "Träger 'A'")


#: Trees in which the relief of one bend takes metal at another bend's tangent line, or a panel is wider than its strip.
OVERHANGS = (9, 31, 212, 280, 314, 340)


def _skins(seeds: Iterable[int]) -> list[tuple[str, Skin, float]]:
    found = []
    for seed in seeds:
        try:
            way = whole_way(random_tree(seed).text)
        except InputFaults:
            continue
        found.append((f"tree {seed}", skin_of(way.folded), folded_volume_mm3(way.job.part)))
    for path in sorted(SHAPES.glob("*.toml")):
        way = whole_way(path.read_text(encoding="utf-8"), str(SHAPES))
        found.append((path.stem, skin_of(way.folded), folded_volume_mm3(way.job.part)))
    return found


def test_skins_of_random_trees_and_all_shapes_are_closed() -> None:
    skins = _skins({*range(150), *OVERHANGS})
    assert len(skins) > 150
    assert [name for name, skin, _ in skins if skin.open_rims()] == []


@pytest.mark.oracle
def test_an_independent_kernel_reads_one_valid_solid_of_the_right_volume(tmp_path: Path) -> None:
    pytest.importorskip("OCP")
    from OCP.BRepCheck import BRepCheck_Analyzer
    from OCP.BRepGProp import BRepGProp
    from OCP.GProp import GProp_GProps
    from OCP.STEPControl import STEPControl_Reader
    from OCP.TopAbs import TopAbs_SOLID
    from OCP.TopExp import TopExp_Explorer

    for name, skin, volume in _skins({*range(40), *OVERHANGS}):
        path = tmp_path / "part.step"
        path.write_bytes(step_bytes(skin, "part", name))
        reader = STEPControl_Reader()
        reader.ReadFile(str(path))
        reader.TransferRoots()
        shape = reader.OneShape()
        solids = TopExp_Explorer(shape, TopAbs_SOLID)
        assert solids.More(), name
        solids.Next()
        assert not solids.More(), name
        assert BRepCheck_Analyzer(shape).IsValid(), name
        found = GProp_GProps()
        BRepGProp.VolumeProperties_s(shape, found)
        assert math.isclose(found.Mass(), volume, rel_tol=1e-9), name
