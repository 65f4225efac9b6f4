"""`place`: the best place for what is carried, on sites whose answer is plain geometry."""

from __future__ import annotations

from pathlib import Path

from command_line import run

#: A drum of 40 mm diameter hangs 160 mm from one wall and 180 mm from the other; half way is 10 mm away.
CORRIDOR = """
title = "Between two walls"
units = "mm"
[faces.tab]
holes = { A = { diameter = 9 }, B = { diameter = 9 } }
[[readings]]
kind = "distance"
from = "tab.A"
to = "tab.B"
over = "centres"
value = 50
[neighbours.near]
shape = "wall"
at = [-150, 0, 0]
normal = [1, 0, 0]
gap = 5
[neighbours.far]
shape = "wall"
at = [230, 0, 0]
normal = [-1, 0, 0]
gap = 5
[carried]
mass = 1
centre = [0, 0, -20]
at = [30, 0, 200]
normal = [0, 0, -1]
x = [1, 0, 0]
room = [20, 0, 0]
[[carried.holes]]
name = "lug"
bolt = "M6"
[carried.things.drum]
shape = "cylinder"
at = [0, 0, 0]
to = [0, 0, -60]
diameter = 40
"""


def site(tmp_path: Path, text: str = CORRIDOR) -> Path:
    file = tmp_path / "walls.site.toml"
    file.write_text(text, encoding="utf-8")
    return file


def test_the_middle_of_a_corridor_is_best(tmp_path: Path) -> None:
    done = run("place", site(tmp_path))
    assert done.code == 0, done.out + done.err
    # 160 mm to the near wall less 5 mm needed; in the middle 170 mm less 5.
    assert "wished place: 155.0 mm to spare" in done.out
    assert "moved by (10.0, 0.0, 0.0) mm" in done.out
    assert "165.0 mm to spare" in done.out


def test_a_wished_place_that_fouls_is_exit_1(tmp_path: Path) -> None:
    done = run("place", site(tmp_path, CORRIDOR.replace("gap = 5", "gap = 163")))
    assert done.code == 1
    assert "wished place: 3.0 mm missing" in done.out


def test_a_site_that_carries_nothing_is_told_so(tmp_path: Path) -> None:
    done = run("place", site(tmp_path, CORRIDOR.split("[carried]")[0]))
    assert done.code == 2
    assert "the site carries nothing" in done.err
