"""The command: what it says, what it writes, its exit codes; and the picture."""

from __future__ import annotations

import io
from itertools import combinations
from pathlib import Path

import command_line
import pytest
from command_line import names, words
from faulty_dxf import FAULTS, SQUARE, Plate, plain, text_line, text_ring
from PIL import Image

from bracketgen.drawing.picture.inspect_view import inspect_view
from bracketgen.drawing.sheet import Sheet, Stroke
from bracketgen.files.inspecting.drawing import MM
from bracketgen.files.inspecting.inspection import Limits, grouped, inspect_bytes, linework

GAPING = plain(
    text_line(0, 0, 99.97, 0), text_line(100, 0.03, 100, 60), text_line(100, 60, 0, 60), text_line(0, 60, 0, 0)
)


def run(*arguments: str | Path) -> tuple[int, str, str]:
    """Exit code, output, errors."""
    done = command_line.run("inspect", *arguments)
    return done.code, words(done.out), words(done.err)


def put(folder: Path, name: str, data: bytes | str) -> Path:
    path = folder / name
    path.write_bytes(data if isinstance(data, bytes) else data.encode())
    return path


def test_a_clean_file(tmp_path: Path) -> None:
    file = put(tmp_path, "plate.dxf", Plate("R2010").data)
    code, out, err = run(file, "--out", tmp_path / "o")
    assert (code, err) == (0, "")
    assert "findings none" in out
    assert "120.000 x 80.000 mm" in out
    assert "cut: CUT" in out
    assert names(tmp_path / "o") == {"plate-inspect.png"}
    with Image.open(io.BytesIO((tmp_path / "o" / "plate-inspect.png").read_bytes())) as picture:
        assert picture.width == 1600


def test_a_faulty_file_and_its_mending(tmp_path: Path) -> None:
    file = put(tmp_path, "hanger.dxf", GAPING)
    code, out, _ = run(file, "--out", tmp_path)
    assert code == 1
    assert "gap: a gap of 0.0424 mm at (99.985, 0.015)" in out
    assert "join the two ends" in out
    assert names(tmp_path) == {"hanger.dxf", "hanger-inspect.png"}
    code, out, _ = run(file, "--mend", "--out", tmp_path)
    assert code == 0
    assert "gap joined, at most 0.0300 mm off" in out
    assert "no line moved farther than 0.0300 mm" in out
    assert "nothing: the new file is clean" in out
    assert file.read_text() == GAPING
    assert names(tmp_path) == {"hanger.dxf", "hanger-inspect.png", "hanger-mended.dxf"}
    assert run(tmp_path / "hanger-mended.dxf", "--out", tmp_path / "o")[0] == 0


def test_a_tighter_gap_leaves_it_open(tmp_path: Path) -> None:
    file = put(tmp_path, "hanger.dxf", GAPING)
    code, out, _ = run(file, "--mend", "--gap", "0.02 mm", "--out", tmp_path)
    assert code == 1
    assert "open chain left open" in out


def test_limits_of_the_process(tmp_path: Path) -> None:
    plate = Plate("R2010")
    plate.circle(95, 50, 1.0)
    file = put(tmp_path, "plate.dxf", plate.data)
    assert run(file, "--out", tmp_path)[0] == 0
    code, out, _ = run(file, "--process", "laser", "--thickness", "4 mm", "--out", tmp_path)
    assert code == 1
    assert "small-hole: a hole of 2 mm, at least" in out
    assert run(file, "--process", "laser", "--thickness", "1 mm", "--out", tmp_path)[0] == 0


def test_a_stated_unit_and_strictness(tmp_path: Path) -> None:
    file = put(tmp_path, "old.dxf", plain(text_ring(*SQUARE), header=""))
    code, out, _ = run(file, "--out", tmp_path)
    assert code == 0
    assert "does not say its unit" in out or "has no place for its unit" in out
    assert run(file, "--strict", "--out", tmp_path)[0] == 1
    assert run(file, "--strict", "--unit", "mm", "--out", tmp_path)[0] == 0
    code, out, _ = run(file, "--unit", "in", "--out", tmp_path)
    assert "2540.000 x 1524.000 mm" in out


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--process", "laser"], "process and thickness belong together"),
        (["--process", "lazer", "-t", "4 mm"], "--process"),
        (["--unit", "mn"], "did you mean"),
        (["--gap", "5 mm"], "out of range"),
        (["--gap", "0 mm"], "out of range"),
        (["--deviation", "much"], "--deviation"),
    ],
)
def test_wrong_options(arguments: list[str], said: str, tmp_path: Path) -> None:
    file = put(tmp_path, "plate.dxf", GAPING)
    code, _, err = run(file, *arguments, "--out", tmp_path / "o")
    assert code == 2
    assert said in err
    assert names(tmp_path / "o") == set()


@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        ("a.dxf", b"", "the file is empty"),
        ("a.dxf", b"AC1027\0\0\0", "binary form, not DXF"),
        ("a.dxf", b"AutoCAD Binary DXF\r\n\x1a\0\0\0", "DXF in binary form"),
        ("a.dxf", b"%PDF-1.7", "this is a PDF"),
        ("a.dxf", b"solid cube\nfacet normal 0 0 1\n", "where a group code is due"),
        ("a.dxf", GAPING.encode()[:-6], "ends too early"),
    ],
)
def test_what_is_no_dxf(name: str, data: bytes, said: str, tmp_path: Path) -> None:
    code, _, err = run(put(tmp_path, name, data), "--mend", "--out", tmp_path / "o")
    assert code == 2
    assert said in err
    assert names(tmp_path / "o") == set()


def test_several_files_and_the_highest_code(tmp_path: Path) -> None:
    good, bad = put(tmp_path, "good.dxf", Plate("R2000").data), put(tmp_path, "bad.dxf", GAPING)
    assert run(good, bad, "--out", tmp_path)[0] == 1
    assert run(good, bad, tmp_path / "missing.dxf", "--out", tmp_path)[0] == 2
    assert run(tmp_path, "--out", tmp_path)[0] == 2


def test_no_file_that_is_read_is_ever_replaced(tmp_path: Path) -> None:
    first, second = put(tmp_path, "a.dxf", GAPING), put(tmp_path, "a-mended.dxf", GAPING)
    code, _, err = run(first, second, "--mend", "--out", tmp_path)
    assert code == 2
    assert "is itself named here" in err
    assert second.read_text() == GAPING
    (tmp_path / "b").mkdir()
    twin = put(tmp_path / "b", "a.dxf", GAPING)
    assert run(first, twin, "--out", tmp_path / "o")[0] == 2


# -- the picture


def sheet_of(data: bytes, unit: int | None = None) -> Sheet:
    found = inspect_bytes(data, Limits(unit=unit))
    return inspect_view("part.dxf", "DXF", linework(found), [g.for_sheet for g in grouped(found.findings)])


@pytest.mark.parametrize("faulty", [f for f in FAULTS if "unreadable" not in f.codes], ids=lambda f: f.kind)
def test_texts_keep_clear_of_each_other_and_on_the_paper(faulty) -> None:  # type: ignore[no-untyped-def]
    version = faulty.versions[-1]
    sheet = sheet_of(faulty.make(version), MM if version == "R12" else None)
    for label in sheet.labels:
        x0, y0, x1, y1 = label.box
        assert x0 >= 2.5 and x1 <= sheet.width_mm - 2.5 and y0 >= 2.5 and y1 <= sheet.height_mm - 2.5, label
    for a, b in combinations([label for label in sheet.labels if label.text], 2):
        (ax0, ay0, ax1, ay1), (bx0, by0, bx1, by1) = a.box, b.box
        apart = ax1 <= bx0 + 0.3 or bx1 <= ax0 + 0.3 or ay1 <= by0 + 0.3 or by1 <= ay0 + 0.3
        assert apart, (a, b)


def test_every_kind_with_a_place_is_marked_there() -> None:
    """The ring of each number stands where the finding is: by the scale of the outline on the paper."""
    plate = Plate("R2010")
    plate.circle(15, 20, 4.5)
    plate.line((90, 50), (100, 55))
    plate.space.add_text("M8", height=3, dxfattribs={"layer": "CUT"}).set_placement((30, 70))
    data = plate.data
    found = inspect_bytes(data)
    sheet = sheet_of(data)
    outline = next(m for m in sheet.marks if isinstance(m, Stroke) and m.shows == "contour")
    left, low = min(p.x for p in outline.points), min(p.y for p in outline.points)
    scale = (max(p.x for p in outline.points) - left) / 120.0
    for group in grouped(found.findings):
        rings = [m for m in sheet.showing(f"finding {group.number}") if isinstance(m, Stroke) and len(m.points) == 33]
        centres = [(sum(p.x for p in r.points[:-1]) / 32, sum(p.y for p in r.points[:-1]) / 32) for r in rings]
        for x, y in group.places:
            near = min(abs(cx - left - scale * x) + abs(cy - low - scale * y) for cx, cy in centres)
            assert near < 0.05, group
    assert {g.first.code.value for g in grouped(found.findings)} == {"doubled-edge", "open-chain", "text"}


def test_the_verdict_stands_on_the_sheet() -> None:
    assert not [m for m in sheet_of(Plate("R2010").data).marks if m.shows == "banner"]
    banners = [label.text for label in sheet_of(GAPING.encode()).labels if label.shows == "banner"]
    assert banners == ["DO NOT CUT FROM THIS FILE: a fault was found, see the list below"]
    warned = [label.text for label in sheet_of(Plate("R2010", units=0).data).labels if label.shows == "banner"]
    assert warned == ["CAN BE CUT, but may be refused or misread: see the list below"]
