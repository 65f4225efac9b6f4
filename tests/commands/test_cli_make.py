from __future__ import annotations

import itertools
import json
import math
import os
from pathlib import Path

import pytest
from command_line import ANGLE, FAILING, FAULTY, PLATE, names, run, words, written

#: A part of each exit code, without the internal error.
_BY_CODE = {0: PLATE, 1: FAILING, 2: FAULTY}


@pytest.fixture(autouse=True)
def _own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def test_a_clean_part_gets_three_files_and_code_0(tmp_path: Path) -> None:
    written(tmp_path, plate=PLATE)
    done = run("make", "plate.toml")
    assert (done.code, done.err) == (0, "")
    assert names(tmp_path / "out") == {"plate.dxf", "plate.png", "plate.json"}
    assert "out/plate.dxf, out/plate.png, out/plate.json" in words(done.out).replace(os.sep, "/")


def test_the_report_names_the_files_and_holds_no_path(tmp_path: Path) -> None:
    written(tmp_path, plate=PLATE)
    run("make", "plate.toml", "--only", "dxf,json", "--out", "deep/er")
    report = json.loads((tmp_path / "deep/er/plate.json").read_text(encoding="utf-8"))
    assert report["files"] == ["plate.dxf", "plate.json"]
    assert report["part"] == "plate"
    assert str(tmp_path) not in json.dumps(report)


def test_summary_of_a_plate_against_sums_by_hand(tmp_path: Path) -> None:
    written(tmp_path, plate=PLATE)
    said = words(run("make", "plate.toml", "--only", "json").out)
    area_mm2 = 100 * 60 - math.pi * 5**2
    kg = area_mm2 * 4 * 7850e-9  # EN 1993-1-1: 7850 kg/m3
    assert "flat 100.00 x 60.00 mm (3.937 x 2.362 in)" in said
    assert f"mass {kg:.3f} kg ({kg * 2.20462262:.3f} lb)" in said  # NIST SP 811: 1 kg = 2.204 622 6 lb
    assert f"{2 * (100 + 60) + 10 * math.pi:.0f} mm of cut" in said
    assert "2 pierces" in said
    assert "1 x dia 10 mm, on plate" in said
    assert "bore = 10 mm" in said
    assert "findings none" in said


def test_summary_of_a_bend_against_sums_by_hand(tmp_path: Path) -> None:
    written(tmp_path, angle=ANGLE)
    said = words(run("make", "angle.toml", "--only", "json").out)
    allowance = math.pi / 2 * (6 + 0.5 * 2)
    assert "turn 90 deg down (between 90 deg), inside radius 6 mm, 60 mm long" in said
    assert f"K 0.500, allowance {allowance:.3f} mm, deduction {16 - allowance:.3f} mm, setback 8.000 mm" in said
    assert f"flat 60.00 x {50 + 40 - (16 - allowance):.2f} mm" in said
    assert "source: K factor as given" in said


def test_thickness_is_echoed_as_typed(tmp_path: Path) -> None:
    written(tmp_path, plate=PLATE.replace("thickness = 4", 'thickness = "3/16 in"'))
    said = words(run("make", "plate.toml", "--only", "json").out)
    assert "4.763 mm (typed 3/16 in)" in said


def test_no_line_is_wider_than_a_terminal(tmp_path: Path) -> None:
    written(tmp_path, plate=PLATE, angle=ANGLE, failing=FAILING)
    done = run("make", "plate.toml", "angle.toml", "failing.toml", "--only", "json")
    assert max(len(line) for line in done.out.splitlines()) <= 92
    assert "\x1b" not in done.out


@pytest.mark.parametrize("codes", [*itertools.product((0, 1, 2), repeat=2), (2, 1, 0), (0, 1, 2)])
def test_every_part_of_a_batch_is_made_and_the_worst_code_wins(tmp_path: Path, codes: tuple[int, ...]) -> None:
    parts = {f"part{n}": _BY_CODE[code] for n, code in enumerate(codes)}
    files = written(tmp_path, **parts)
    done = run("make", *files, "--only", "dxf")
    assert done.code == max(codes)
    assert names(tmp_path / "out") == {f"part{n}.dxf" for n, code in enumerate(codes) if code == 0}
    for n, code in enumerate(codes):
        assert (f"part{n}.toml:5:13: '4,5 mm' has a comma; write 4.5 mm" in done.err) == (code == 2)
    assert f"{len(codes)} parts:" in done.out


def test_every_fault_of_every_file_is_told_with_its_place(tmp_path: Path) -> None:
    written(tmp_path, one=FAULTY, two=FAULTY.replace("S235", "S253"))
    done = run("make", "one.toml", "two.toml")
    assert done.code == 2
    lines = [line for line in done.err.splitlines() if ".toml:" in line]
    assert [line.split(": ")[0] for line in lines if line.startswith("one")] == [
        "one.toml:5:13",
        "one.toml:15:1",
    ]
    assert any(line.startswith("two.toml:15:1") and "did you mean 'diameter'?" in line for line in lines)


def test_a_failed_part_gets_no_files_and_says_how_to_see_them(tmp_path: Path) -> None:
    written(tmp_path, small=FAILING)
    done = run("make", "small.toml")
    assert done.code == 1
    assert names(tmp_path / "out") == set()
    assert "FAIL min-hole" in words(done.out)
    assert "--even-if-failed" in done.out


def test_a_waived_failure_is_told_with_its_reason_and_is_clean(tmp_path: Path) -> None:
    waiver = '[[waivers]]\nrule = "min-hole"\nreason = "drilled after cutting"\n'
    written(tmp_path, small=FAILING + waiver)
    done = run("make", "small.toml", "--only", "dxf", "--strict")
    assert done.code == 0
    assert "WAIVED min-hole: plate/h1" in words(done.out)
    assert "reason: drilled after cutting" in words(done.out)
    assert names(tmp_path / "out") == {"small.dxf"}


#: What a rule refuses and no machine could cut, as a second hole of the plate.
_BESIDE = '[[panels.plate.holes]]\nname = "other"\ndiameter = 10\nat = [{x}, 30]\n'
_WAIVED = '[[waivers]]\nrule = "min-web"\nreason = "let us see what happens"\n'


@pytest.mark.parametrize("x", [50, 55, 97, 100])
def test_a_waiver_can_not_make_a_faulty_cut_file(tmp_path: Path, x: int) -> None:
    written(tmp_path, crossing=PLATE + _BESIDE.format(x=x), waived=PLATE + _BESIDE.format(x=x) + _WAIVED)
    assert run("make", "crossing.toml", "--only", "dxf").code == 1
    assert run("make", "crossing.toml", "--only", "dxf", "--even-if-failed").code == 1
    done = run("make", "waived.toml", "--only", "dxf")
    assert done.code == 2
    assert "waived.toml: no machine can cut this, waived or not" in done.err
    assert names(tmp_path / "out") == {"FAILED-crossing.dxf"}


def test_files_of_a_failed_part_are_marked(tmp_path: Path) -> None:
    written(tmp_path, small=FAILING)
    done = run("make", "small.toml", "--even-if-failed")
    assert done.code == 1
    assert names(tmp_path / "out") == {"FAILED-small.dxf", "FAILED-small.png", "FAILED-small.json"}
    report = json.loads((tmp_path / "out/FAILED-small.json").read_text(encoding="utf-8"))
    assert "fail" in {f["level"] for f in report["findings"] if f["waived"] is None}
    assert report["files"] == ["FAILED-small.dxf", "FAILED-small.json", "FAILED-small.png"]


def test_old_files_of_a_part_that_failed_are_set_aside(tmp_path: Path) -> None:
    written(tmp_path, plate=PLATE)
    assert run("make", "plate.toml", "--only", "dxf,json").code == 0
    before = (tmp_path / "out/plate.dxf").read_bytes()
    written(tmp_path, plate=FAILING)
    done = run("make", "plate.toml", "--only", "dxf,json")
    assert done.code == 1
    assert names(tmp_path / "out") == {"OLD-plate.dxf", "OLD-plate.json"}
    assert (tmp_path / "out/OLD-plate.dxf").read_bytes() == before
    assert "OLD-plate.dxf" in done.out


def test_files_of_other_parts_and_of_a_wrong_name_stay(tmp_path: Path) -> None:
    written(tmp_path, plate=PLATE, small=FAILING)
    run("make", "plate.toml", "--only", "dxf")
    assert run("make", "small.toml", "plat.toml").code == 2
    assert names(tmp_path / "out") == {"plate.dxf"}


def test_strict_counts_warnings_as_failures(tmp_path: Path) -> None:
    # 10 mm from the edge for a hole of 9 mm: over 1.2 d0 less than two diameters, which is a warning.
    close = PLATE.replace('diameter = "bore"', 'bolt = "M8"').replace("at = [50, 30]", "at = [12, 30]")
    written(tmp_path, close=close)
    mild = run("make", "close.toml", "--only", "dxf")
    assert mild.code == 0
    assert "WARN hole-edge" in words(mild.out)
    strict = run("make", "close.toml", "--only", "dxf", "--strict")
    assert strict.code == 1
    assert "FAIL hole-edge" in words(strict.out)
    assert names(tmp_path / "out") == {"OLD-close.dxf"}
    assert run("check", "close.toml", "--strict").code == 1


def test_set_gives_a_parameter_another_value(tmp_path: Path) -> None:
    written(tmp_path, plate=PLATE)
    for typed, millimetres in (("12 mm", 12), ("12", 12), ("1/2 in", 12.7), ("(2 * 6 mm)", 12)):
        done = run("make", "plate.toml", "--only", "json", "--set", f"bore={typed}")
        assert done.code == 0, done.err
        report = json.loads((tmp_path / "out/plate.json").read_text(encoding="utf-8"))
        assert report["holes"][0]["diameter_mm"] == millimetres
        assert f"bore = {millimetres} mm" in words(done.out)
    assert "12.7 mm (typed 1/2 in)" in words(run("make", "plate.toml", "--only", "json", "--set", "bore=1/2 in").out)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("bor=12 mm", "did you mean 'bore'?"),
        ("bore=12,5 mm", "write 12.5 mm"),
        ("bore=40 mm", "above its most"),
        ("bore", "sets nothing"),
        ("bore=", "sets nothing"),
        ("=3", "sets nothing"),
        ("bore=twelve", "neither a quantity nor a parameter"),
    ],
)
def test_a_wrong_setting_is_told(tmp_path: Path, typed: str, said: str) -> None:
    written(tmp_path, plate=PLATE)
    done = run("make", "plate.toml", "--set", typed)
    assert done.code == 2
    assert said in done.err
    assert names(tmp_path / "out") == set()


def test_a_parameter_set_twice_is_told(tmp_path: Path) -> None:
    written(tmp_path, plate=PLATE)
    done = run("make", "plate.toml", "--set", "bore=8 mm", "--set", "bore=9 mm")
    assert done.code == 2
    assert "'bore' is set twice" in done.err


def test_files_that_can_not_be_read_are_told_one_by_one(tmp_path: Path) -> None:
    written(tmp_path, plate=PLATE)
    (tmp_path / "folder").mkdir()
    (tmp_path / "picture.toml").write_bytes(b"\x89PNG\r\n\0\0")
    (tmp_path / "latin.toml").write_bytes('title = "x"\nnote = "Käfer"\n'.encode("latin-1"))
    done = run("make", "plat.toml", "folder", "picture.toml", "latin.toml", "plate.toml", "--only", "dxf")
    assert done.code == 2
    assert done.err.splitlines() == [
        "plat.toml: there is no such file; did you mean plate.toml?",
        f"folder: this is a folder; name the descriptions in it, such as {Path('folder') / '*.toml'}",
        "picture.toml: this is no text, so no description; save it as UTF-8 text, or name another file",
        "latin.toml:2:10: this letter is not UTF-8; save the file as UTF-8 in your editor",
    ]
    assert names(tmp_path / "out") == {"plate.dxf"}


def test_a_byte_order_mark_does_no_harm(tmp_path: Path) -> None:
    (tmp_path / "plate.toml").write_bytes(b"\xef\xbb\xbf" + PLATE.encode())
    assert run("check", "plate.toml").code == 0


def test_parts_that_would_take_each_others_files_are_told(tmp_path: Path) -> None:
    (tmp_path / "other").mkdir()
    written(tmp_path, plate=PLATE)
    written(tmp_path / "other", Plate=PLATE)
    done = run("make", "plate.toml", "other/Plate.toml", "--only", "dxf")
    assert done.code == 2
    assert "would be named 'Plate' like those of plate.toml" in done.err
    assert names(tmp_path / "out") == {"plate.dxf"}


def test_a_name_becomes_safe_for_every_machine(tmp_path: Path) -> None:
    (tmp_path / "Halter für Öl (neu).toml").write_text(PLATE, encoding="utf-8")
    (tmp_path / "架.toml").write_text(PLATE, encoding="utf-8")
    done = run("make", "Halter für Öl (neu).toml", "架.toml", "--only", "dxf")
    assert done.code == 2
    assert names(tmp_path / "out") == {"Halter-fur-Ol-neu.dxf"}
    assert "no part can be named after this file" in done.err


def test_an_output_folder_that_is_a_file_is_told(tmp_path: Path) -> None:
    written(tmp_path, plate=PLATE)
    (tmp_path / "taken").write_text("mine", encoding="utf-8")
    done = run("make", "plate.toml", "--only", "dxf", "--out", "taken")
    assert done.code == 2
    assert "taken: this is a file, and files can't be put into it" in done.err
    assert (tmp_path / "taken").read_text(encoding="utf-8") == "mine"


def test_an_unknown_kind_of_file_is_told(tmp_path: Path) -> None:
    written(tmp_path, plate=PLATE)
    done = run("make", "plate.toml", "--only", "dxf,pgn")
    assert done.code == 2
    assert "did you mean png?" in done.err


def test_check_tells_the_findings_and_writes_nothing(tmp_path: Path) -> None:
    written(tmp_path, plate=PLATE, small=FAILING, wrong=FAULTY)
    before = names(tmp_path)
    assert run("check", "plate.toml").code == 0
    done = run("check", "plate.toml", "small.toml")
    assert done.code == 1
    assert "FAIL min-hole: plate/h1 (is 1 mm, limit 4 mm)" in words(done.out)
    assert run("check", "plate.toml", "small.toml", "wrong.toml").code == 2
    assert names(tmp_path) == before


def test_brief_is_one_line_a_part_and_what_failed(tmp_path: Path) -> None:
    written(tmp_path, plate=PLATE, small=FAILING)
    lines = run("make", "plate.toml", "small.toml", "--only", "dxf", "--brief").out.splitlines()
    assert lines[0].split()[:6] == ["plate", "ok", "100.0", "x", "60.0", "mm"]
    assert lines[1].split()[:2] == ["small", "FAILED"]
    assert "min-hole" in lines[2]
    assert lines[-1] == "2 parts: 1 clean, 1 failed"


def test_an_internal_error_is_one_line_and_the_others_go_on(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import bracketgen.pipeline as pipeline

    real = pipeline.unfold

    def broken(part: pipeline.Made, allowances: object) -> object:
        if part.name == "angle":  # type: ignore[attr-defined]
            raise ZeroDivisionError("made for\nthis test")
        return real(part, allowances)  # type: ignore[arg-type]

    monkeypatch.setattr(pipeline, "unfold", broken)
    written(tmp_path, angle=ANGLE, plate=PLATE, wrong=FAULTY)
    done = run("make", "angle.toml", "plate.toml", "wrong.toml", "--only", "dxf")
    assert done.code == 3
    first = done.err.splitlines()[0]
    assert first.startswith("angle.toml: internal error, ZeroDivisionError: made for this test; ")
    assert "report" in first
    assert "Traceback" not in done.err
    assert names(tmp_path / "out") == {"plate.dxf"}
    monkeypatch.setenv("BRACKETGEN_TRACE", "1")
    assert "Traceback" in run("make", "angle.toml", "--only", "dxf").err


def test_progress_of_a_long_batch_goes_to_the_error_stream(tmp_path: Path) -> None:
    files = [f"gone{n}.toml" for n in range(60)]
    done = run("check", *files)
    assert "50 of 60 parts done" in done.err.splitlines()
    assert "60 parts: 60 with input faults" in done.out
