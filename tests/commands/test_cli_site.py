"""`make` and `check` on a description that names a site also look at the part in its place."""

from __future__ import annotations

import json
import struct
from pathlib import Path

import pytest
from command_line import names, run, words, written
from site_parts import PLATE, SITE

#: A tape reading puts tab B at 80.2 mm; the fuel line's skin stands 18 mm from the plate's edge.
TRUCK = (
    SITE
    + """
[[readings]]
kind = "distance"
from = "tabs.A"
to = "tabs.B"
over = "centres"
value = 80.2
[neighbours."fuel line"]
shape = "pipe"
matter = "fuel"
points = [[-50, -83, 1.5], [150, -83, 1.5]]
diameter = 10
gap = 12
"""
)
NEAR = TRUCK.replace("gap = 12", "gap = 20")


@pytest.fixture(autouse=True)
def _own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def put(folder: Path, site: str, plate: str = PLATE) -> None:
    written(folder, plate=plate)
    (folder / "truck.site.toml").write_text(site, encoding="utf-8")


def test_readings_that_contradict_each_other_are_told_though_none_stands_out(tmp_path: Path) -> None:
    """One span six times with +- 0.5 mm, each reading 1 mm (two sigma) off the mean, to both sides in turn.

    By hand: chi-square 6 x 2^2 = 24 with 5 readings too many, beyond the 20.5 of one site in a thousand; but
    each reading is 2 / sqrt(5 / 6) = 2.2 of its own off, within the 2.6 that six readings are allowed.
    """
    reading = TRUCK[TRUCK.index("[[readings]]") : TRUCK.index("[neighbours")] + "error = 0.5\n"
    six = "".join(reading.replace("80.2", f"{80.2 + side}") for side in (1, -1, 1, -1, 1, -1))
    put(tmp_path, TRUCK.replace(reading.removesuffix("error = 0.5\n"), six))
    told = "WARN misfit: readings the readings contradict each other more than their +- allow, and no one of them"
    assert told in words(run("check", "plate.toml").out)
    put(tmp_path, (tmp_path / "truck.site.toml").read_text(encoding="utf-8").replace("error = 0.5", "error = 1"))
    assert "contradict" not in run("check", "plate.toml").out


def test_a_part_that_fits_gets_its_picture_and_model_in_place(tmp_path: Path) -> None:
    put(tmp_path, TRUCK)
    done = run("make", "plate.toml")
    assert (done.code, done.err) == (0, "")
    assert names(tmp_path / "out") == {"plate.dxf", "plate.png", "plate.json", "plate-site.png", "plate-site.glb"}
    said = words(done.out)
    assert "in place two tabs; bolted to: chassis" in said
    # Half of 0.2 mm at each bolt; edge at -60, skin at -78.
    assert "plate/tab-1 tabs.A M8 0.10 0.00 1.00" in said
    assert "part fuel line 18.0 12.0" in said
    out = tmp_path / "out"
    assert (out / "plate-site.png").read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"
    model = (out / "plate-site.glb").read_bytes()
    assert model[:4] == b"glTF" and struct.unpack("<I", model[8:12])[0] == len(model)
    assert b"fuel line" in model


def test_the_report_has_a_block_about_the_site(tmp_path: Path) -> None:
    put(tmp_path, TRUCK)
    run("make", "plate.toml", "--only", "json")
    report = json.loads((tmp_path / "out/plate.json").read_text(encoding="utf-8"))
    site = report["site"]
    assert site["title"] == "two tabs" and site["bodies"] == ["chassis"]
    assert [b["off_mm"] for b in site["bolts"]] == pytest.approx([0.1, 0.1], abs=1e-6)
    (pair,) = site["pairs"]
    assert (pair["a"], pair["b"]) == ("part", "fuel line")
    assert pair["gap_mm"] == pytest.approx(18.0, abs=1e-4)
    assert pair["required"]["mm"] == 12.0 and pair["move_mm"] is None
    assert report["files"] == ["plate.json"]


def test_a_part_that_fouls_fails_and_says_how_to_move(tmp_path: Path) -> None:
    put(tmp_path, NEAR)
    done = run("make", "plate.toml")
    assert done.code == 1 and names(tmp_path / "out") == set()
    assert "gap: part to fuel line (is 18 mm, limit 20 mm)" in words(done.out)
    assert "move the part there by 2.1 mm along (0.00, 1.00, 0.00)" in words(done.out)
    checked = run("check", "plate.toml")
    assert checked.code == 1 and "gap: part to fuel line" in words(checked.out)
    marked = run("make", "plate.toml", "--even-if-failed", "--only", "png,site")
    assert marked.code == 1
    assert names(tmp_path / "out") == {"FAILED-plate.png", "FAILED-plate-site.png", "FAILED-plate-site.glb"}


def test_what_an_earlier_run_left_of_the_place_is_set_aside(tmp_path: Path) -> None:
    put(tmp_path, TRUCK)
    run("make", "plate.toml", "--only", "site,dxf")
    put(tmp_path, NEAR)
    assert run("make", "plate.toml").code == 1
    assert names(tmp_path / "out") == {"OLD-plate.dxf", "OLD-plate-site.png", "OLD-plate-site.glb"}


def test_a_finding_of_the_site_can_be_waived(tmp_path: Path) -> None:
    waiver = '[[waivers]]\nrule = "gap"\nsubject = "part to fuel line"\nreason = "clipped to the plate itself"\n'
    put(tmp_path, NEAR, PLATE + waiver)
    done = run("check", "plate.toml")
    assert done.code == 0 and "clipped to the plate itself" in words(done.out)


def test_faults_of_the_site_file_and_of_its_name_stand_at_their_places(tmp_path: Path) -> None:
    written(tmp_path, plate=PLATE)
    done = run("make", "plate.toml")
    line = 1 + PLATE.splitlines().index('file = "truck.site.toml"')
    assert done.code == 2 and f"plate.toml:{line}:8: the site file 'truck.site.toml' can't be read" in words(done.err)
    put(tmp_path, TRUCK.replace("diameter = 10", "diametre = 10"))
    done = run("make", "plate.toml")
    line = 1 + TRUCK.splitlines().index("diameter = 10")
    assert done.code == 2 and f"truck.site.toml:{line}:1: the key 'diametre'" in words(done.err)
    assert "Traceback" not in done.err


def test_readings_that_leave_a_hole_loose_fail_where_the_part_needs_it(tmp_path: Path) -> None:
    third = '[[readings]]\nkind = "distance"\nfrom = "tabs.A"\nto = "tabs.C"\nover = "centres"\nvalue = 80\n'
    loose = TRUCK.replace("B = { diameter = 9 }", "B = { diameter = 9 }\nC = { diameter = 9 }") + third
    put(tmp_path, loose)
    assert run("check", "plate.toml").code == 0
    put(tmp_path, loose, PLATE.replace('"tabs.B"', '"tabs.C"'))
    done = run("check", "plate.toml")
    assert done.code == 1 and "hole tabs.C can still move" in words(done.out)
    assert "the readings don't hold it" in words(done.out)


def test_a_part_without_a_site_is_made_as_before(tmp_path: Path) -> None:
    written(tmp_path, plate=PLATE.split("[site]")[0])
    assert run("make", "plate.toml").code == 0
    assert names(tmp_path / "out") == {"plate.dxf", "plate.png", "plate.json"}
    assert "site" not in json.loads((tmp_path / "out/plate.json").read_text(encoding="utf-8"))


def test_rules_of_the_site_are_listed() -> None:
    said = words(run("show", "rules").out)
    for rule in ("gap", "heat", "two-bodies", "drip", "removal", "misfit", "hole-step", "hole-axis"):
        assert f" {rule}: " in f" {said}"
