"""`make --only` with the kinds that show the folded part: which files, what is told, what is refused."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from command_line import ANGLE, FAILING, PLATE, names, run, words, written
from printed_models import open_sides, read_3mf, read_stl
from site_parts import PLATE as PLACED
from test_cli_site import TRUCK, put

from bracketgen.drawing.solid.mesh import CHORD_MM
from bracketgen.pipeline import USUAL_OUTPUTS, Outputs

MODELS = "step,stl,3mf,glb"


@pytest.fixture(autouse=True)
def _own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def test_models_are_made_on_request_only(tmp_path: Path) -> None:
    written(tmp_path, angle=ANGLE)
    assert run("make", "angle.toml").code == 0
    assert names(tmp_path / "out") == {"angle.dxf", "angle.png", "angle.json"}
    done = run("make", "angle.toml", "--only", f"dxf,json,{MODELS}", "--out", "models")
    assert (done.code, done.err) == (0, "")
    made = {"angle.dxf", "angle.json", "angle.step", "angle.stl", "angle.3mf", "angle.glb"}
    assert names(tmp_path / "models") == made
    assert set(json.loads((tmp_path / "models/angle.json").read_text(encoding="utf-8"))["files"]) == made
    assert (tmp_path / "models/angle.step").read_bytes().startswith(b"ISO-10303-21;")
    assert (tmp_path / "models/angle.glb").read_bytes().startswith(b"glTF")


def test_png_and_glb_are_the_part_alone_where_there_is_a_site_too(tmp_path: Path) -> None:
    put(tmp_path, TRUCK, PLACED)
    assert run("make", "plate.toml", "--only", "glb, PNG").code == 0
    assert names(tmp_path / "out") == {"plate.glb", "plate.png"}


def test_site_alone_needs_a_site(tmp_path: Path) -> None:
    written(tmp_path, plate=PLATE)
    done = run("make", "plate.toml", "--only", "site")
    assert done.code == 2 and "plate.toml: --only site: the description names no site" in done.err
    assert run("make", "plate.toml", "--only", "site,dxf").code == 0


def test_models_of_a_failed_part_are_marked(tmp_path: Path) -> None:
    written(tmp_path, small=FAILING)
    assert run("make", "small.toml", "--only", MODELS).code == 1
    assert not (tmp_path / "out").exists() or names(tmp_path / "out") == set()
    assert run("make", "small.toml", "--only", MODELS, "--even-if-failed").code == 1
    assert names(tmp_path / "out") == {f"FAILED-small.{kind}" for kind in MODELS.split(",")}
    assert read_3mf((tmp_path / "out/FAILED-small.3mf").read_bytes()).name == "FAILED-small"
    assert b"'FAILED-small.step'" in (tmp_path / "out/FAILED-small.step").read_bytes()


def test_models_of_an_earlier_run_are_set_aside(tmp_path: Path) -> None:
    written(tmp_path, small=PLATE)
    assert run("make", "small.toml", "--only", MODELS).code == 0
    written(tmp_path, small=FAILING)
    assert run("make", "small.toml", "--only", MODELS).code == 1
    assert names(tmp_path / "out") == {f"OLD-small.{kind}" for kind in MODELS.split(",")}


_OTHER = '[[panels.plate.holes]]\nname = "other"\ndiameter = 10\nat = [{x}, 30]\n'
_WAIVED = '[[waivers]]\nrule = "{rule}"\nreason = "let us see what happens"\n'


@pytest.mark.parametrize("kind", MODELS.split(","))
def test_a_part_whose_holes_cross_has_no_model(tmp_path: Path, kind: str) -> None:
    text = PLATE + _OTHER.format(x=55)
    written(tmp_path, crossing=text, waived=text + _WAIVED.format(rule="min-web"))
    for done in (
        run("make", "crossing.toml", "--only", f"dxf,{kind}", "--even-if-failed"),
        run("make", "waived.toml", "--only", kind),
    ):
        assert done.code == 2
        said = words(done.err)
        assert ".toml: there is no 3D model of this part: holes touch or cross each other or the outline" in said
        assert "leave metal between them, or leave step, stl, 3mf and glb out of --only" in said
    assert not (tmp_path / "out").exists() or names(tmp_path / "out") == set()


def test_the_plate_is_what_was_described(tmp_path: Path) -> None:
    written(tmp_path, plate=PLATE)
    run("make", "plate.toml", "--only", "stl,3mf")
    for facets in (
        read_stl((tmp_path / "out/plate.stl").read_bytes()).facets,
        read_3mf((tmp_path / "out/plate.3mf").read_bytes()).facets,
    ):
        assert open_sides(facets) == []
        corners = [p for f in facets for p in f]
        assert [max(p[k] for p in corners) for k in range(3)] == [100.0, 60.0, 4.0]


def test_every_unknown_kind_is_told(tmp_path: Path) -> None:
    written(tmp_path, plate=PLATE)
    done = run("make", "plate.toml", "--only", "stpe,dxf,3fm,obj,")
    assert done.code == 2
    assert "'stpe' is no kind of file here; did you mean step?" in done.err
    assert "'3fm' is no kind of file here; did you mean 3mf?" in done.err
    assert "'obj' is no kind of file here; write one or more of" in done.err
    assert "'' is no kind of file here" in done.err
    assert done.err.count("write one or more of dxf, png, json, site, step, stl, 3mf, glb") == 4


def test_help_says_what_the_kinds_are_and_how_exact() -> None:
    said = words(run("make", "--help").out)
    assert f"facets within {CHORD_MM:g} mm of the true surface" in said
    (listed,) = re.findall(r"commas between them: ([a-z0-9, ]+)\.", said)
    assert listed.split(", ") == [kind.word for kind in Outputs]
    assert f"[default: {','.join(kind.word for kind in USUAL_OUTPUTS)}]" in said
