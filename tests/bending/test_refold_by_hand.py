"""Parts whose folded sizes anyone can work out on paper, through the written cut file and the reported bends."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from plain_dxf import PlainDxf, read_plain
from refold import Refolded
from whole_way import whole_way

from bracketgen.geometry.arrays import Floats

INCH = 25.4
PLACE_MM = 1e-6

HEAD = """
title = "by hand"
units = "mm"
[stock]
metal = "S235"
thickness = 2
[corners]
outer = 0
[bend]
inside_radius = 3
sizes = "outside"
"""


def made(text: str) -> tuple[PlainDxf, dict[str, Any]]:
    part = whole_way(text)
    return read_plain(part.dxf), part.report


def holes_in_space(text: str) -> dict[str]:
    """Every hole by name: its circle in the cut file, carried by the bends."""
    dxf, report = made(text)
    folded = Refolded(report)
    found = {}
    for hole in report["holes"]:
        circle = min(dxf.circles, key=lambda c: math.dist(c[:2], hole["flat_mm"]))
        found[hole["id"]] = folded.carried(hole["panel"], circle[:2])[0]
        assert np.abs(found[hole["id"]] - hole["folded_mm"]).max() < PLACE_MM
    return found


def placed(found: Floats, x: float, y: float, z: float) -> bool:
    return bool(np.abs(found - (x, y, z)).max() < PLACE_MM)


CHANNEL = """
title = "channel"
units = "in"
[stock]
metal = "2024-T3"
thickness = 0.040
[corners]
outer = 0
[bend]
inside_radius = 0.16
allowance = "FAA"
sizes = "mould"
[panels.bottom]
outline = { shape = "rectangle", width = 3, height = 2.00 }
[panels.near]
outline = { shape = "rectangle", height = 1.00 }
bend = { from = "bottom", edge = "bottom", turn = 90, way = "up" }
[[panels.near.holes]]
name = "h"
at = [1, 0.6]
diameter = 0.2
[panels.far]
outline = { shape = "rectangle", height = 1.00 }
bend = { from = "bottom", edge = "top", turn = 90, way = "up" }
[[panels.far.holes]]
name = "h"
at = [1, 0.6]
diameter = 0.2
"""


def test_faa_channel_has_its_sizes_over_the_outside_again() -> None:
    # FAA-H-8083-31 ch. 4, U-channel of .040 in 2024-T3, R .16, mould sizes 1, 2, 1 in. Described face inside.
    holes = holes_in_space(CHANNEL)
    # 0.6 in up from the outer face of the bottom at z = -0.04; the inner faces of the legs stand at y = .04, 1.96.
    assert placed(holes["near/h"], 2.0 * INCH, 0.04 * INCH, 0.56 * INCH)
    assert placed(holes["far/h"], 1.0 * INCH, 1.96 * INCH, 0.56 * INCH)
    dxf, report = made(CHANNEL)
    ys = [y for _, y, _ in dxf.outline]
    width_in = (max(ys) - min(ys)) / INCH
    # Printed: flats 0.8, 1.6, 0.8; allowance .27 cut, not rounded, so the total of 3.74 lacks up to 2 x .01.
    assert width_in == pytest.approx(0.8 + 1.6 + 0.8 + 2 * (0.01743 * 0.16 + 0.0078 * 0.040) * 90, abs=1e-9)
    assert 3.74 <= width_in < 3.76
    folded = Refolded(report)
    for leg, face_y in (("near", 0.0), ("far", 2.0)):
        outer = folded.carried(leg, [(x, y) for x, y, _ in dxf.outline], 0.040 * INCH) / INCH
        top = outer[np.argmax(outer[:, 2])]
        assert top[2] == pytest.approx(0.96, abs=1e-6) and top[1] == pytest.approx(face_y, abs=1e-6)


def test_partial_flange_stands_where_its_numbers_say() -> None:
    text = (
        HEAD
        + """
[panels.base]
outline = { shape = "rectangle", width = 100, height = 60 }
[panels.ear]
outline = { shape = "rectangle", width = 40, height = 25, left = 30 }
bend = { from = "base", edge = "top", turn = 90, way = "WAY" }
[[panels.ear.holes]]
name = "h"
at = [50, 15]
diameter = 6
"""
    )
    # Up: outer face of the ear at y = 60, described face 2 mm inside it; 15 mm up from the lower face at z = -2.
    assert placed(holes_in_space(text.replace("WAY", "up"))["ear/h"], 50, 58, 13)
    # Down: the described faces are the outer ones.
    assert placed(holes_in_space(text.replace("WAY", "down"))["ear/h"], 50, 60, -15)
    dxf, report = made(text.replace("WAY", "up"))
    corners = {(x, y) for x, y, _ in dxf.outline}
    assert {(0.0, 0.0), (100.0, 0.0), (100.0, 60.0), (0.0, 60.0)} <= corners
    (a, b) = report["bends"][0]["flat_line_mm"]
    assert (a[0], b[0]) == (30.0, 70.0)


JOGGLE = (
    HEAD
    + """
[panels.base]
outline = { shape = "rectangle", width = 80, height = 50 }
[panels.step]
outline = { shape = "rectangle", SIZE height = 40 }
joggle = { from = "base", edge = "top", offset = 10, turn = 45, way = "WAY" }
[[panels.step.holes]]
name = "h"
at = [40, 30]
diameter = 6
"""
)


@pytest.mark.parametrize("size", ["", "width = 80,", "width = 40, left = 20,"])
@pytest.mark.parametrize(("way", "z"), [("up", 10.0), ("down", -10.0)])
def test_joggle_lifts_by_its_offset(size: str, way: str, z: float) -> None:
    # The sharp outer corners lie on opposite faces: 10 + 2 mm apart in height, so (10 + 2) / tan 45 along, less
    # the slope's own thickness measured along the parent, 2 / sin 45.
    ahead = 12.0 - 2.0 * math.sqrt(2.0)
    text = JOGGLE.replace("SIZE", size).replace("WAY", way)
    assert placed(holes_in_space(text)["step/h"], 40.0, 50.0 + ahead + 30.0, z)


def test_partial_joggle_is_one_tongue() -> None:
    text = JOGGLE.replace("SIZE", "width = 40, left = 20,").replace("WAY", "up")
    for bend in made(text)[1]["bends"]:
        assert [p[0] for p in bend["flat_line_mm"]] == [20.0, 60.0]


def test_strip_bent_up_and_down() -> None:
    text = (
        HEAD
        + """
[strip]
width = 20
bends = [{ turn = 90, way = "up" }, { turn = 90, way = "down" }]
[[strip.legs]]
length = 30
[[strip.legs]]
length = 40
[[strip.legs]]
length = 25
name = "last"
[[strip.legs.holes]]
name = "h"
at = [10, 15]
diameter = 5
"""
    )
    # 40 over the outside: from the lower face at z = -2 to the described face of the last leg at z = 38. The
    # middle leg's outer face at y = 30 puts its other face, the last leg's outer corner, at y = 28.
    assert placed(holes_in_space(text)["last/h"], 10.0, 28.0 + 15.0, 38.0)


def test_sharp_bend_is_sized_to_the_outermost_round() -> None:
    # Turned 120 deg with outside sizes: base over all 60, ear over all 30, R 3, t 2. The centre of the round lies
    # 5 inside both outermost planes; the hole 20 out from the ear's lies 15 beyond the centre along the ear.
    text = (
        HEAD
        + """
[panels.base]
outline = { shape = "rectangle", width = 40, height = 60 }
[panels.ear]
outline = { shape = "rectangle", height = 30 }
bend = { from = "base", edge = "top", between = 60, way = "up" }
[[panels.ear.holes]]
name = "h"
at = [20, 20]
diameter = 5
"""
    )
    c, s = -0.5, math.sqrt(3) / 2
    # Along the ear (c, s), and 3 mm from the centre to its inner face along -(-s, c).
    y, z = 55.0 + 15.0 * c + 3.0 * s, 3.0 + 15.0 * s - 3.0 * c
    assert placed(holes_in_space(text)["ear/h"], 20.0, y, z)


@pytest.mark.parametrize("line", ["[[5, 40], [55, 40]]", "[[55, 40], [5, 40]]"])
def test_shelf_on_a_belt_counts_from_its_line(line: str) -> None:
    # The holes lie below the line, so the shelf hangs on its upper side and x runs with the belt's own.
    text = (
        HEAD
        + """
[panels.back]
outline = { shape = "belt" }
[[panels.back.holes]]
name = "tab"
diameter = 9
pattern = { kind = "row", count = 2, spacing = 60 }
[panels.shelf]
outline = { shape = "rectangle", width = 50, height = 30 }
bend = { from = "back", line = LINE, turn = 90, way = "down" }
[[panels.shelf.holes]]
name = "h"
at = [25, 15]
diameter = 6
"""
    )
    holes = holes_in_space(text.replace("LINE", line))
    assert placed(holes["back/tab-2"], 60, 0, 0)
    # Down: the described faces are the outer ones, and the shelf's stands in y = 40.
    assert placed(holes["shelf/h"], 5 + 25, 40, -15)


def test_slanted_ear_on_a_whole_edge_leaves_no_chip() -> None:
    # The ear's foot takes all of the edge, but its sides lean in. Between edge and tangent line nothing is left of
    # the base, not even the chip between the ear's end and the base's acute corner.
    text = (
        HEAD
        + """
[panels.base]
outline = { shape = "polygon", corners = [[0, 0], [140, 0], [140, 80], [30, 80]] }
[panels.ear]
outline = { shape = "polygon", corners = [[-140, 0], [0, 0], [-8, 46], [-132, 46]] }
origin = "right"
bend = { from = "base", edge = 1, turn = 90, way = "up", sizes = "inside" }
[[panels.ear.holes]]
name = "h"
at = [-60, 20]
diameter = 6
[panels.side]
outline = { shape = "rectangle", width = 36, height = 57 }
origin = "middle"
bend = { from = "base", edge = 4, turn = 120, way = "down" }
"""
    )
    # Inner faces meet in y = 0; x runs against the base's, from its far end.
    assert placed(holes_in_space(text)["ear/h"], 60.0, 0.0, 20.0)
    _, report = made(text)
    ear = next(b for b in report["bends"] if b["child"] == "ear")
    on_tangent = max(y for y in (p[1] for p in ear["flat_line_mm"])) + ear["allowance_mm"] / 2
    assert on_tangent == pytest.approx(3.0)
