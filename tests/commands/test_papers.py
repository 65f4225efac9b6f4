"""The mark on every paper, stale papers, what is told of a change, and runs that are cut short."""

from __future__ import annotations

import json
import os
import random
import re
import signal
import subprocess
import sys
import time
import zipfile
from pathlib import Path

import ezdxf
import pytest
from command_line import names, run, words, written
from PIL import Image
from pypdf import PdfReader

from bracketgen.files.disk import write_together
from bracketgen.part.mark import mark_of, stamped
from bracketgen.pipeline import work_out

PART = """
title = "Pump stay"
units = "mm"
[stock]
metal = "S235"
thickness = 3
process = "laser"
[bend]
die = 20
allowance = "DIN 6935"
sizes = "outside"
[panels.base]
outline = { shape = "rectangle", width = 80, height = 50 }
[[panels.base.holes]]
name = "tab"
bolt = "M8"
at = [20, 25]
pattern = { kind = "row", count = 2, spacing = 40 }
[panels.leg]
outline = { shape = "rectangle", height = 40 }
bend = { from = "base", edge = "top", turn = 90, way = "up" }
"""
ALL = "dxf,png,json,step,stl,3mf,glb"
MARK = re.compile(r"[2-9A-HJ-NP-Z]{4}-[2-9A-HJ-NP-Z]{4}")


@pytest.fixture(autouse=True)
def _own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def mark(text: str, **settings: str) -> str:
    return work_out(text, "stay.toml", "stay", settings).mark


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('title = "Pump stay"', '# a remark\nnote = "for the crew truck"\ntitle = "Pump stay"'),
        ("thickness = 3", 'thickness = "0.3 cm"'),
        ('metal = "S235"\nthickness = 3', 'thickness = 3\nmetal = "S235"'),
        ("width = 80, height = 50", "height = 50.0, width = 80.0"),
        ("at = [20, 25]", 'at = ["(2 * 10 mm)", 25]'),
    ],
)
def test_what_is_no_value_changes_no_mark(old: str, new: str) -> None:
    assert PART.count(old) == 1
    assert mark(PART.replace(old, new)) == mark(PART)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('title = "Pump stay"', 'title = "Pump bracket"'),
        ('"S235"', '"S355"'),
        ("thickness = 3", "thickness = 3.2"),
        ('"laser"', '"plasma"'),
        ("die = 20", "inside_radius = 4"),
        ('allowance = "DIN 6935"', 'allowance = "FAA"'),
        ("width = 80", "width = 80.001"),
        ("at = [20, 25]", "at = [20, 25.001]"),
        ('bolt = "M8"', "diameter = 9"),
        ("turn = 90", "turn = 89.9"),
        ('way = "up"', 'way = "down"'),
        ("[bend]", 'cut_file = { also = ["bends"] }\n[bend]'),
        ("[bend]", 'near = ["fuel"]\n[bend]'),
    ],
)
def test_every_value_changes_the_mark(old: str, new: str) -> None:
    assert PART.count(old) == 1
    text = PART.replace(old, new)
    if new.startswith("cut_file") or new.startswith("near"):
        line, _, _ = new.partition("\n")
        text = PART.replace('units = "mm"', f'units = "mm"\n{line}')
    assert mark(text) != mark(PART)


def test_a_file_of_another_name_has_the_same_mark() -> None:
    assert work_out(PART, "a.toml", "a").mark == work_out(PART, "b.toml", "b").mark
    assert MARK.fullmatch(mark(PART))


def test_values_that_lie_in_different_places_are_different() -> None:
    assert mark_of([1.0, 2.0], [3.0]) != mark_of([1.0], [2.0, 3.0])
    assert mark_of("ab", "c") != mark_of("a", "bc")
    assert mark_of({"a": 1, "b": 2}) == mark_of({"b": 2.0, "a": 1})
    assert mark_of({"a": 1, "b": 2}) != mark_of({"a": 2, "b": 1})
    assert mark_of(-0.0) == mark_of(0.0) and mark_of(1e-7) == mark_of(0.0) != mark_of(1e-5)
    with pytest.raises(TypeError):
        mark_of(object())


def test_every_file_carries_the_mark_where_other_readers_find_it(tmp_path: Path) -> None:
    written(tmp_path, stay=PART)
    for command in (("make", "--only", ALL), ("sheets",), ("template",), ("brake",)):
        assert run(command[0], "stay.toml", *command[1:]).code == 0
    out, today = tmp_path / "out", mark(PART)
    told = f"bracketgen-mark {today}"
    assert all(stamped(path.read_bytes())[0] == today for path in out.iterdir() if path.suffix != ".json")
    assert json.loads((out / "stay.json").read_text(encoding="utf-8"))["mark"] == today
    assert Image.open(out / "stay.png").text["Comment"] == told  # type: ignore[attr-defined]
    for pages in ("drawing", "hand-work", "template-a4", "brake"):
        assert PdfReader(out / f"stay-{pages}.pdf").metadata.subject.startswith(told)  # type: ignore[union-attr]
    assert zipfile.ZipFile(out / "stay.3mf").comment.decode() == told
    assert (out / "stay.stl").read_bytes()[:80].startswith(f"bracketgen, mm: {told}".encode())
    assert ezdxf.readfile(out / "stay.dxf").modelspace()  # the comment is no tag to a reader
    assert (out / "stay.dxf").read_bytes().startswith(f"999\r\n{told}\r\n".encode())


def test_what_is_stale_is_set_aside_whoever_wrote_it_and_the_change_is_told(tmp_path: Path) -> None:
    written(tmp_path, stay=PART)
    for command in (("make", "--only", ALL), ("sheets",), ("template",), ("brake",)):
        run(command[0], "stay.toml", *command[1:])
    before = names(tmp_path / "out")
    written(tmp_path, stay=PART.replace("height = 40", "height = 45").replace("at = [20, 25]", "at = [23, 21]"))
    done = run("make", "stay.toml")
    fresh = {"stay.dxf", "stay.png", "stay.json"}
    assert names(tmp_path / "out") == fresh | {f"OLD-{name}" for name in before - fresh}
    said = words(done.out)
    assert "panels.leg.outline.height 40 → 45" in said
    assert "panels.base.holes.tab.at 20, 25 → 23, 21" in said
    assert "base/tab-1 moved 5 mm; base/tab-2 moved 5 mm" in said  # 3 along and 4 across


def test_what_is_not_stale_is_left_alone(tmp_path: Path) -> None:
    written(tmp_path, stay=PART)
    run("make", "stay.toml")
    run("sheets", "stay.toml")
    before = {path: path.read_bytes() for path in (tmp_path / "out").iterdir()}
    done = run("make", "stay.toml", "--only", "step")
    assert done.code == 0 and "changed" not in done.out
    assert names(tmp_path / "out") == {path.name for path in before} | {"stay.step"}
    assert all(path.read_bytes() == data for path, data in before.items())


def test_a_part_that_fails_tells_the_change_and_leaves_what_says_so(tmp_path: Path) -> None:
    """A leg of 8 mm is too short for this die: good papers are set aside, those named FAILED of today's values stay."""
    written(tmp_path, stay=PART)
    run("make", "stay.toml")
    written(tmp_path, stay=PART.replace("height = 40", "height = 8"))
    done = run("make", "stay.toml")
    assert done.code == 1 and "changed panels.leg.outline.height 40 → 8" in words(done.out)
    run("sheets", "stay.toml", "--even-if-failed")
    run("make", "stay.toml", "--even-if-failed")
    sheets = {"FAILED-stay-drawing.pdf", "FAILED-stay-hand-work.pdf"}
    kinds = ("dxf", "png", "json")
    assert names(tmp_path / "out") == sheets | {f"{start}-stay.{kind}" for start in ("FAILED", "OLD") for kind in kinds}


def test_files_without_a_mark_are_stale(tmp_path: Path) -> None:
    written(tmp_path, stay=PART)
    (tmp_path / "out").mkdir()
    (tmp_path / "out/stay.step").write_text("ISO-10303-21;")
    (tmp_path / "out/stay-notes.txt").write_text("mine")
    run("make", "stay.toml", "--only", "dxf")
    assert names(tmp_path / "out") == {"stay.dxf", "OLD-stay.step", "stay-notes.txt"}


@pytest.mark.parametrize("text", [PART.replace("height = 40", "hight = 40"), "title = "])
def test_a_fault_loses_nothing_and_names_what_is_left(tmp_path: Path, text: str) -> None:
    written(tmp_path, stay=PART)
    run("make", "stay.toml", "--only", "dxf")
    written(tmp_path, stay=text)
    done = run("make", "stay.toml", "--only", "dxf")
    assert done.code == 2 and names(tmp_path / "out") == {"stay.dxf"}
    assert "left out/stay.dxf (of an earlier run" in words(done.out)


def test_a_full_disk_loses_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    written(tmp_path, stay=PART)
    run("make", "stay.toml")
    before = {path: path.read_bytes() for path in (tmp_path / "out").iterdir()}
    written(tmp_path, stay=PART.replace("height = 40", "height = 45"))

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    done = run("make", "stay.toml")
    assert done.code == 2 and "No space left on device" in done.err
    assert {path: path.read_bytes() for path in (tmp_path / "out").iterdir()} == before
    assert "of an earlier run" in done.out


def test_another_tooling_makes_the_brake_sheet_stale_and_nothing_else(tmp_path: Path) -> None:
    thin = PART.replace("thickness = 3", "thickness = 1").replace("die = 20", "die = 8")
    written(tmp_path, stay=thin)
    run("make", "stay.toml")
    run("brake", "stay.toml")
    mark_before, second = stamped((tmp_path / "out/stay-brake.pdf").read_bytes())
    run("brake", "stay.toml", "--machine", "leaf")
    mark_after, other = stamped((tmp_path / "out/stay-brake.pdf").read_bytes())
    assert mark_before == mark_after == mark(thin)
    assert second is not None and other is not None and second != other and second[0] == other[0] == "tooling"
    assert names(tmp_path / "out") == {"stay.dxf", "stay.png", "stay.json", "stay-brake.pdf"}


def test_pack_and_nest_tell_of_stale_papers(tmp_path: Path) -> None:
    written(tmp_path, stay=PART)
    run("make", "stay.toml", "--only", "dxf")
    written(tmp_path, stay=PART.replace("height = 40", "height = 45"))
    (tmp_path / "job.toml").write_text(
        'title = "job"\nunits = "mm"\n[[parts]]\nfile = "stay.toml"\n[[sheets]]\nsize = [500, 400]\n', encoding="utf-8"
    )
    for done in (run("pack", "job.toml"), run("nest", "job.toml", "--boxes")):
        assert done.code == 0
        assert f"stale: out/stay.dxf shows another state of the part ({mark(PART)}, now " in words(done.out)
    order = (tmp_path / "out/job-pack/order.txt").read_text(encoding="utf-8")
    assert mark(PART.replace("height = 40", "height = 45")) in order
    run("make", "stay.toml", "--only", "dxf")
    assert "stale" not in run("pack", "job.toml").out


# -- runs that are cut short, and two at once


def test_what_a_killed_run_left_half_written_is_cleared(tmp_path: Path) -> None:
    half = tmp_path / ".stay.dxf.0123abcd.part"
    half.write_bytes(b"half")
    other = tmp_path / ".other.dxf.0123abcd.part"
    other.write_bytes(b"somebody else's")
    write_together({tmp_path / "stay.dxf": b"whole"})
    assert names(tmp_path) == {"stay.dxf", ".other.dxf.0123abcd.part"}


def _start(*arguments: str) -> subprocess.Popen[bytes]:
    command = [sys.executable, "-m", "bracketgen", *arguments]
    return subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)


def _state(out: Path) -> set[str]:
    """The marks of the part's files that look valid."""
    marks = set()
    for path in out.glob("stay*"):
        data = path.read_bytes()
        marks.add(json.loads(data)["mark"] if path.suffix == ".json" else stamped(data)[0])
    return marks


_KILLED_AT = """
import os, sys
from pathlib import Path
from bracketgen.terminal.cli import main
left, rename = [int(sys.argv.pop(1))], Path.replace
def replace(self, target):
    left[0] -= 1
    if left[0] < 0:
        os._exit(137)
    return rename(self, target)
Path.replace = replace
main()
"""


@pytest.mark.parametrize("renames", [0, 1, 2])
def test_a_run_killed_between_two_files_is_seen_by_pack_nest_and_make(tmp_path: Path, renames: int) -> None:
    """Killed after that many of three files got their names."""
    kinds, new = "dxf,json,step", PART.replace("height = 40", "height = 45")
    written(tmp_path, stay=PART)
    run("make", "stay.toml", "--only", kinds)
    written(tmp_path, stay=new)
    command = [sys.executable, "-c", _KILLED_AT, str(renames), "make", "stay.toml", "--only", kinds]
    assert subprocess.run(command, check=False, capture_output=True).returncode == 137
    out = tmp_path / "out"
    assert _state(out) == ({mark(PART), mark(new)} if renames else {mark(PART)})
    assert len(list(out.glob(".*.part"))) == 3 - renames
    (tmp_path / "job.toml").write_text(
        'title = "j"\nunits = "mm"\n[[parts]]\nfile = "stay.toml"\n[[sheets]]\nsize = [500, 400]\n', encoding="utf-8"
    )
    for done in (run("pack", "job.toml"), run("nest", "job.toml", "--boxes")):
        assert words(done.out).count("shows another state of the part") == 3 - renames
    assert run("make", "stay.toml", "--only", kinds).code == 0
    assert _state(out) == {mark(new)} and not list(out.glob(".*.part"))


@pytest.mark.sweep
@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="this system kills in another way")
def test_a_run_killed_at_any_moment_leaves_whole_files_and_the_next_run_sees_what_is_mixed(tmp_path: Path) -> None:
    """50 kills at random moments of a run that changes the part: no file is half, and what is mixed is told."""
    rng, out = random.Random(26), tmp_path / "out"
    written(tmp_path, stay=PART)
    begun = time.perf_counter()
    _start("make", "stay.toml", "--only", "dxf,json,step").wait()
    takes_s = time.perf_counter() - begun
    for number in range(50):
        old, new = (
            PART.replace("height = 40", f"height = {40 + number}"),
            PART.replace("height = 40", f"height = {41 + number}"),
        )
        written(tmp_path, stay=old)
        assert run("make", "stay.toml", "--only", "dxf,json,step").code == 0
        assert _state(out) == {mark(old)}
        written(tmp_path, stay=new)
        process = _start("make", "stay.toml", "--only", "dxf,json,step")
        time.sleep(rng.uniform(0.7, 1.05) * takes_s)
        process.kill()
        process.wait()
        state = _state(out)
        assert state <= {mark(old), mark(new)}
        if mark(old) in state:
            (tmp_path / "job.toml").write_text(
                'title = "j"\nunits = "mm"\n[[parts]]\nfile = "stay.toml"\n', encoding="utf-8"
            )
            assert "shows another state of the part" in words(run("pack", "job.toml").out)
        assert run("make", "stay.toml", "--only", "dxf,json,step").code == 0
        assert _state(out) == {mark(new)} and not list(out.glob(".*.part"))


@pytest.mark.sweep
def test_two_writers_leave_one_state(tmp_path: Path) -> None:
    for number in range(10):
        texts = {side: PART.replace("height = 40", f"height = {40 + 2 * number + k}") for k, side in enumerate("ab")}
        for side, text in texts.items():
            (tmp_path / side).mkdir(exist_ok=True)
            written(tmp_path / side, stay=text)
        both = [_start("make", f"{side}/stay.toml", "--only", "dxf,json,stl") for side in texts]
        assert [process.wait() for process in both] == [0, 0]
        assert len(_state(tmp_path / "out")) == 1
