"""The command, its picture and its report."""

from __future__ import annotations

import json
from itertools import pairwise
from pathlib import Path

import command_line
import numpy as np
import pytest
from command_line import words
from random_sites import random_site

from bracketgen.drawing.picture.located_holes import Grade, locate_view
from bracketgen.drawing.sheet import Stroke
from bracketgen.files.png import png_bytes
from bracketgen.vehicle.locate.locate import Located, locate
from bracketgen.vehicle.site import read_site

PLATE = """title = "Old plate of the breather can"
units = "mm"
[parameters.span]
value = "120 mm"
[faces.plate.holes]
A = { diameter = 8.5, about = [0, 0] }
B = { diameter = 8.5, about = [120, 0] }
C = { diameter = 6.6, about = [60, 50] }
D = { diameter = 6.6, about = [60, -40] }
"""
SPANS = {
    ("A", "B"): "span", ("A", "C"): 78.1, ("B", "C"): 78.1, ("A", "D"): 72.1, ("B", "D"): 72.1, ("C", "D"): 90.0,
}  # fmt: skip


def plate(**changed: float) -> str:
    text = PLATE
    for (a, b), value in SPANS.items():
        said = changed.get(a + b, value)
        quoted = f'"{said}"' if isinstance(said, str) else said
        text += f'[[readings]]\nkind = "distance"\nfrom = "plate.{a}"\nto = "plate.{b}"\nover = "centres"\n'
        text += f"value = {quoted}\n"
    # Once more over the far edges of both holes, so that a slip in one of the two spans shows.
    return text + text[text.rindex("[[readings]]") :].replace("centres", "outer").replace(quoted_of(changed), "96.6")


def quoted_of(changed: dict[str, float]) -> str:
    return str(changed.get("CD", SPANS["C", "D"]))


def run(*arguments: str | Path) -> tuple[int, str, str]:
    done = command_line.run("locate", *arguments)
    return done.code, done.out, done.err


def write(folder: Path, text: str, name: str = "plate.site.toml") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def test_a_settled_site_is_told_drawn_and_reported(tmp_path: Path) -> None:
    code, out, _ = run(write(tmp_path, plate()), "--out", tmp_path / "out")
    assert code == 0
    assert {p.name for p in (tmp_path / "out").iterdir()} == {"plate-locate.png", "plate-locate.json"}
    said = words(out)
    assert "Old plate of the breather can" in said
    assert "plate.C 6.6 60.0" in said.replace("  ", " ")
    assert "agree" in said and "WRONG?" not in said and "loose" not in said
    report = json.loads((tmp_path / "out" / "plate-locate.json").read_text(encoding="utf-8"))
    assert report["suspect"] is None and report["mirror"] == [] and report["loose"] == []
    holes = {h["id"]: h for h in report["holes"]}
    assert holes["plate.C"]["at_mm"] == pytest.approx([60.0, 50.0, 0.0], abs=0.3)
    assert np.array(report["covariance_mm2"]).shape == (12, 12)
    assert report["files"] == ["plate-locate.json", "plate-locate.png"]


def test_a_suspect_reading_ends_with_1_and_is_named(tmp_path: Path) -> None:
    code, out, _ = run(write(tmp_path, plate(CD=97.0)), "--out", tmp_path)
    said = words(out)
    assert code == 1
    assert "reading 6 (plate.C to plate.D, centre to centre, tape) looks about" in said
    assert "too large" in said and "measure again: plate.C to plate.D" in said


def test_parameters_can_be_set(tmp_path: Path) -> None:
    path = write(tmp_path, plate())
    run(path, "--out", tmp_path, "--set", "span=4.75 in")
    report = json.loads((tmp_path / "plate-locate.json").read_text(encoding="utf-8"))
    assert report["readings"][0]["measured"] == pytest.approx(120.65)
    run(path, "--out", tmp_path, "--set", "span=121")
    report = json.loads((tmp_path / "plate-locate.json").read_text(encoding="utf-8"))
    assert report["readings"][0]["measured"] == pytest.approx(121.0)


def test_faults_of_one_site_leave_the_others_alone(tmp_path: Path) -> None:
    bad = write(tmp_path, plate().replace('to = "plate.D"', 'to = "plate.Q"', 1), "bad.site.toml")
    code, _, err = run(bad, tmp_path / "none.toml", write(tmp_path, plate()), "--out", tmp_path / "out")
    assert code == 2
    assert "bad.site.toml:" in err and "there is no hole 'plate.Q'" in err
    assert "none.toml: there is no such file" in err
    assert (tmp_path / "out" / "plate-locate.png").is_file()
    assert not (tmp_path / "out" / "bad-locate.png").exists()


def test_loose_holes_are_told_as_loose(tmp_path: Path) -> None:
    text = plate().split("[[readings]]")
    code, out, _ = run(write(tmp_path, "[[readings]]".join(text[:3])), "--out", tmp_path)
    said = words(out)
    assert code == 1
    assert "hole plate.D can still move in all directions" in said
    assert "holds part of what is loose" in said


# -- the picture


def located(**changed: float) -> Located:
    return locate(read_site(plate(**changed), "plate.site.toml", "plate"))


def test_every_reading_and_hole_is_drawn_in_its_grade() -> None:
    sheet = locate_view(located(CD=97.0), "plate")
    for number in range(1, 8):
        strokes = [
            m
            for m in sheet.showing(f"reading {number}")
            if isinstance(m, Stroke) and m.dash_mm == Grade.WRONG.value.dash_mm
        ]
        assert bool(strokes) == (number == 6)
        assert sheet.showing(f"reading {number}")
    assert all(sheet.showing(f"plate.{h}") for h in "ABCD")
    assert "reading 6 looks wrong" in " ".join(label.text for label in sheet.labels)


def test_ellipses_are_drawn_at_the_scale_that_is_stated() -> None:
    """The 95 % ellipse of B lies along the line from A; half of it is 2.4477 sigma (chi-square, closed form)."""
    solved = located()
    sheet = locate_view(solved, "plate")
    stated = next(label.text for label in sheet.labels if label.shows == "ellipses")
    times = float(stated.split("drawn ")[1].split(" times too large")[0])
    ring = next(m for m in sheet.showing("ellipse plate.B") if isinstance(m, Stroke))
    centres = {h: next(m for m in sheet.showing(f"plate.{h}") if isinstance(m, Stroke)) for h in "AB"}
    a, b = (np.mean([tuple(p) for p in centres[h].points[:-1]], axis=0) for h in "AB")
    scale = np.linalg.norm(b - a) / solved.hole("plate.B").centre[0]
    drawn = (max(p.x for p in ring.points) - min(p.x for p in ring.points)) / 2.0
    sigma = float(np.sqrt(solved.covariance_of("plate.B")[0, 0]))
    assert drawn == pytest.approx(2.4477 * sigma * times * scale, rel=0.01)


def test_grades_differ_without_colour() -> None:
    looks = {(g.value.width_mm, g.value.dash_mm) for g in Grade}
    assert len(looks) == len(Grade)
    light = sorted(0.2126 * r + 0.7152 * g + 0.0722 * b for r, g, b in (x.value.colour for x in Grade))
    assert all(b - a > 8 for a, b in pairwise(light))


@pytest.mark.parametrize("faces", [1, 2, 3, 4])
def test_any_number_of_faces_fits_on_the_sheet(faces: int) -> None:
    site = random_site(faces, faces)
    sheet = locate_view(locate(site.site(seed=1)), "a title that is far too long for the room that there is " * 3)
    for label in sheet.labels:
        x0, y0, x1, y1 = label.box
        assert x0 > 2.0 and y0 > 2.0 and x1 < sheet.width_mm - 2.0 and y1 < sheet.height_mm - 2.0, label.text
    png = png_bytes(sheet, 400)
    assert png == png_bytes(sheet, 400) and png.startswith(b"\x89PNG")
