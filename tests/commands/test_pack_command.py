"""The hand-over pack: what is in it, read again by others; a failing part stays out; the same bytes every time."""

from __future__ import annotations

import hashlib
import json
import subprocess
import zipfile
from pathlib import Path

import ezdxf
import pytest
from command_line import ANGLE, FAILING, FAULTY, PLATE, names, run, words, written
from parts import plate as plate_of
from sample_parts import SHAPES
from whole_way import whole_way

from bracketgen.bending.fold import fold
from bracketgen.drawing.solid.skin import skin_of
from bracketgen.drawing.solid.solid_mesh import part_meshes
from bracketgen.geometry.contour import Circle
from bracketgen.geometry.plane import Point
from bracketgen.geometry.space import Frame

JOB = """\
title = "Crew truck, front"
units = "mm"
finish = "deburred"
bends = "shop"
[[parts]]
file = "angle.toml"
quantity = 4
[[parts]]
file = "plate.toml"
quantity = 3
set = { bore = "12 mm" }
[[parts]]
file = "plate.toml"
"""


def packed(tmp_path: Path, *more: str) -> tuple[Path, str]:
    written(tmp_path, angle=ANGLE, plate=PLATE, job=JOB)
    result = run("pack", tmp_path / "job.toml", "--out", tmp_path / "out", *more)
    assert result.code == 0, result.err
    return tmp_path / "out" / "job-pack", result.out


def test_a_job_holds_every_file_of_every_part(tmp_path: Path) -> None:
    folder, _ = packed(tmp_path)
    stems = ("angle", "plate", "plate-2")
    expected = {f"{stem}.{end}" for stem in stems for end in ("dxf", "png", "json", "step")}
    assert names(folder) == expected | {"if-refused", "order.txt", "manifest.json", "checksums.txt"}
    assert names(folder / "if-refused") == {f"{s}-{d}.dxf" for s in stems for d in ("lines-arcs", "r12-mm")}


def test_cut_files_are_those_of_the_settings(tmp_path: Path) -> None:
    folder, _ = packed(tmp_path)
    for stem, bore in (("plate", 12.0), ("plate-2", 10.0)):
        for file in (f"{stem}.dxf", f"if-refused/{stem}-lines-arcs.dxf", f"if-refused/{stem}-r12-mm.dxf"):
            circles = ezdxf.readfile(folder / file).modelspace().query("CIRCLE")
            assert [c.dxf.radius * 2 for c in circles] == [pytest.approx(bore, abs=1e-9)]


def test_manifest_and_checksums_are_those_of_the_files(tmp_path: Path) -> None:
    folder, _ = packed(tmp_path)
    told = json.loads((folder / "manifest.json").read_text())["files"]
    files = {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()}
    assert told.keys() == files.keys() - {"manifest.json", "checksums.txt"}
    for name, entry in told.items():
        assert entry == {"bytes": len(files[name]), "sha256": hashlib.sha256(files[name]).hexdigest()}
    check = subprocess.run(["sha256sum", "--check", "--strict", "checksums.txt"], cwd=folder, capture_output=True)
    assert check.returncode == 0
    (folder / "angle.dxf").write_bytes(b"damaged")
    check = subprocess.run(["sha256sum", "--check", "--strict", "checksums.txt"], cwd=folder, capture_output=True)
    assert check.returncode != 0


def test_the_zip_is_the_folder_and_always_the_same(tmp_path: Path) -> None:
    folder, _ = packed(tmp_path, "--zip")
    archive = folder.with_name("job-pack.zip")
    first = archive.read_bytes()
    with zipfile.ZipFile(archive) as opened:
        assert opened.testzip() is None
        held = {name: opened.read(name) for name in opened.namelist()}
    assert held == {p.relative_to(folder.parent).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()}
    packed(tmp_path, "--zip")
    assert archive.read_bytes() == first


def test_the_order_sheet_says_what_a_shop_asks(tmp_path: Path) -> None:
    folder, _ = packed(tmp_path)
    text = (folder / "order.txt").read_text()
    assert max(map(len, text.splitlines())) <= 96
    said = words(text)
    for phrase in (
        "3 parts, 8 in all",
        "no kerf is taken off",
        "quantity 4",
        "thickness 2 mm = 0.0787 in",
        "finish no coating; deburred",
        "the cutting shop bends it",
        "bend 1, foot to upright: down, turn 90 deg from flat (90 deg between the faces), inside radius 6 mm",
        "folded size 60.00 x 50.00 x 40.00 mm = 2.362 x 1.969 x 1.575 in",
        "flat size 100.00 x 60.00 mm = 3.937 x 2.362 in",
        "send that one: if-refused/plate-lines-arcs.dxf, then if-refused/plate-r12-mm.dxf",
        # 100 x 60 x 4 mm less a 12 mm hole, 7850 kg/m3 (EN 1991-1-1, table A.4): 0.18485 kg.
        "mass 0.185 kg (0.41 lb) each",
    ):
        assert phrase in said
    assert "6061-T4" in said and "rolling direction 90 deg" in said


def test_a_failing_part_and_a_faulty_one_stay_out_and_are_told(tmp_path: Path) -> None:
    files = written(tmp_path, good=PLATE, small=FAILING, wrong=FAULTY)
    result = run("pack", *files, "--quantity", "5", "--out", tmp_path)
    assert result.code == 2
    folder = tmp_path / "parts-pack"
    assert {n.split(".")[0].split("-")[0] for n in names(folder)} == {"good", "if", "order", "manifest", "checksums"}
    text = (folder / "order.txt").read_text()
    assert "NOT in this pack: small: a rule failed" in text
    assert "NOT in this pack: wrong: its description has faults" in text
    assert "quantity    5" in text
    assert "wrong.toml:5:13" in result.err and "diametre" in result.err


def test_nothing_good_gives_no_pack_and_the_old_one_is_set_aside(tmp_path: Path) -> None:
    (file,) = written(tmp_path, plate=PLATE)
    assert run("pack", file, "--out", tmp_path, "--zip").code == 0
    file.write_text(FAILING)
    result = run("pack", file, "--out", tmp_path)
    assert result.code == 1
    assert {"OLD-plate-pack", "OLD-plate-pack.zip"} <= names(tmp_path)
    assert not names(tmp_path) & {"plate-pack", "plate-pack.zip"}


def test_files_of_an_earlier_order_never_mix_with_the_new(tmp_path: Path) -> None:
    folder, _ = packed(tmp_path)
    (tmp_path / "job.toml").write_text(JOB.rsplit("[[parts]]", 1)[0])
    assert run("pack", tmp_path / "job.toml", "--out", tmp_path / "out").code == 0
    assert "plate-2.dxf" not in names(folder)
    assert "plate-2.dxf" in names(folder.with_name("OLD-job-pack"))


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ("quantity = 4", "quantity = 0"),
        ('title = "Crew truck, front"', 'titel = "x"'),
        ("bends = ", "bents = "),
        ('set = { bore = "12 mm" }', 'set = { boor = "12 mm" }'),
    ],
)
def test_faults_of_a_job_file_are_told(tmp_path: Path, wrong: str, said: str) -> None:
    written(tmp_path, angle=ANGLE, plate=PLATE, job=JOB.replace(wrong, said))
    result = run("pack", tmp_path / "job.toml", "--out", tmp_path / "out")
    assert result.code == 2
    assert ".toml" in result.err and "Traceback" not in result.err


@pytest.mark.parametrize("shape", ["hanger-bracket", "hat-bridge", "beacon-spider", "filter-mount"])
def test_the_folded_size_is_that_of_a_fine_mesh(shape: str) -> None:
    way = whole_way((SHAPES / f"{shape}.toml").read_text(encoding="utf-8"), str(SHAPES))
    size = skin_of(way.folded).size_mm
    points = [p for m in part_meshes(way.folded, Frame(), (0, 0, 0), chord_mm=0.01) for p in m.points]
    for i in range(3):
        assert size[i] == pytest.approx(max(p[i] for p in points) - min(p[i] for p in points), abs=0.03)


def test_a_round_end_counts_beyond_its_corners() -> None:
    # A disc of 50 mm, in 3 mm sheet: no corner of it need lie at its sides.
    size = skin_of(fold(plate_of(Circle(Point(0, 0), 25.0).contour(), []))).size_mm
    assert size == pytest.approx((50.0, 50.0, 3.0))
