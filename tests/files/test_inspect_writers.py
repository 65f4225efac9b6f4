"""Files of other general-purpose libraries go through whole: read, told, mended, never a crash.

The drawings in `other_writers` are ours, written by these libraries: @tarikjabiri/dxf 2.9.0 and dxf-writer 1.18.4
(JavaScript), dxfwrite 1.2.2 (Python, R12). GDAL (by pyogrio) and trimesh write theirs here, where they are installed.
"""

from __future__ import annotations

import math
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from faulty_plate import AREA
from test_mending_faults import mended, metal, opened

from bracketgen.files.inspecting.drawing import MM
from bracketgen.files.inspecting.inspection import Limits, inspect_bytes

FOLDER = Path(__file__).parents[1] / "other_writers"
#: What each file has wrong, and what the mended file still has.
TOLD: dict[str, tuple[set[str], set[str]]] = {
    "tarikjabiri-clean": (set(), set()),
    "dxf-writer-clean": (set(), set()),
    "tarikjabiri-faults": ({"ellipse", "spline", "open-chain", "text", "point", "block"}, {"open-chain"}),
    "dxf-writer-faults": ({"ellipse", "doubled-edge", "text"}, set()),
    "dxfwrite-faults": ({"gap", "units", "text", "faceted-arc", "extents"}, set()),
}


@pytest.mark.parametrize("name", TOLD)
def test_each_fault_is_told_and_what_can_be_is_mended(name: str) -> None:
    data = (FOLDER / f"{name}.dxf").read_bytes()
    faults, left = TOLD[name]
    assert {f.code.value for f in inspect_bytes(data).findings} == faults
    assert {f.code.value for f in mended(data).after.findings} == left


def test_there_is_no_file_without_a_test() -> None:
    assert {p.stem for p in FOLDER.iterdir()} == set(TOLD)


@pytest.mark.parametrize("name", ["tarikjabiri-clean", "dxf-writer-clean"])
def test_the_same_plate_has_the_same_area_from_every_writer(name: str) -> None:
    data = (FOLDER / f"{name}.dxf").read_bytes()
    assert inspect_bytes(data).area_mm2 == pytest.approx(AREA, rel=1e-9)
    assert metal(opened(mended(data).data)) == pytest.approx(AREA, rel=1e-8)


def test_an_ellipse_as_many_short_lines_becomes_arcs() -> None:
    """dxfwrite draws an ellipse as 60 chords; arcs take their place, area within what is said."""
    data = (FOLDER / "dxfwrite-faults.dxf").read_bytes()
    made = mended(data)
    before = inspect_bytes(data).area_mm2
    assert made.after.area_mm2 == pytest.approx(before, abs=made.deviation_mm * 60.0)
    assert made.after.area_mm2 != pytest.approx(before, abs=0.1)


def written_by_gdal(path: Path) -> bytes:
    """A rectangle and a circle of 64 chords as line strings."""
    raw = pytest.importorskip("pyogrio.raw")
    shapely = pytest.importorskip("shapely")
    np = pytest.importorskip("numpy")
    ring = [(15 + 4.5 * math.cos(math.tau * k / 64), 20 + 4.5 * math.sin(math.tau * k / 64)) for k in range(64)]
    shapes = [[(0, 0), (120, 0), (120, 80), (0, 80), (0, 0)], [*ring, ring[0]]]
    lines = np.array([shapely.to_wkb(shapely.LineString(s)) for s in shapes], dtype=object)
    layers = [np.array(["CUT", "CUT"], dtype=object)]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        raw.write(path, lines, layers, ["Layer"], geometry_type="LineString", driver="DXF", crs=None)
    return path.read_bytes()


def written_by_trimesh(path: Path) -> bytes:
    """A rectangle and a closed arc."""
    path_module: Any = pytest.importorskip("trimesh.path")
    entities: Any = pytest.importorskip("trimesh.path.entities")
    np = pytest.importorskip("numpy")
    high = 5 * math.sin(2 * math.pi / 3)
    places = [(0, 0), (120, 0), (120, 80), (0, 80), (65, 40), (57.5, 40 + high), (57.5, 40 - high)]
    shapes = [entities.Line([0, 1, 2, 3, 0]), entities.Arc([4, 5, 6], closed=True)]
    drawing = path_module.Path2D(entities=shapes, vertices=np.array(places, dtype=float))
    drawing.units = "mm"
    path.write_text(drawing.export(file_type="dxf"))
    return path.read_bytes()


LIVE: dict[str, tuple[Callable[[Path], bytes], float]] = {
    "gdal": (written_by_gdal, 120 * 80 - math.pi * 4.5**2),
    "trimesh": (written_by_trimesh, 120 * 80 - math.pi * 25.0),
}


@pytest.mark.oracle
@pytest.mark.parametrize("name", LIVE)
def test_files_written_here_go_through(name: str, tmp_path: Path) -> None:
    write, area = LIVE[name]
    data = write(tmp_path / "part.dxf")
    inspected = inspect_bytes(data, Limits(unit=MM))
    assert not inspected.unreadable
    made = mended(data, Limits(unit=MM))
    assert [str(f) for f in made.after.findings] == []
    assert metal(opened(made.data)) == pytest.approx(area, abs=made.deviation_mm * 60.0 + 1e-2)


@pytest.mark.oracle
def test_the_library_s_own_unit_is_told(tmp_path: Path) -> None:
    """GDAL's empty drawing says inches, whatever the numbers are; the size says so, and `--unit mm` settles it."""
    found = inspect_bytes(written_by_gdal(tmp_path / "part.dxf"))
    assert {"units", "size"} <= {f.code.value for f in found.findings}
    assert "25.4 times smaller it is 120 x 80 mm" in next(f.what for f in found.findings if f.code.value == "size")
