"""Tooling files: read as written, every fault in its place."""

from __future__ import annotations

from pathlib import Path

import pytest

from bracketgen.errors import InputFaults
from bracketgen.shop.brake.brakes import LeafBrake, PressBrake, usual_leaf, usual_press
from bracketgen.shop.brake.convex import convex_pieces
from bracketgen.shop.brake.tooling_file import read_tooling

FOLDER = Path(__file__).parents[2] / "shapes" / "tooling"
PRESS = (FOLDER / "press-brake.toml").read_text(encoding="utf-8")
LEAF = (FOLDER / "leaf-brake.toml").read_text(encoding="utf-8")


def faults(text: str) -> str:
    with pytest.raises(InputFaults) as caught:
        read_tooling(text, "shop.toml")
    return str(caught.value)


def test_the_examples_hold_the_usual_outlines() -> None:
    (press,) = read_tooling(PRESS, "p")
    (leaf,) = read_tooling(LEAF, "l")
    assert isinstance(press, PressBrake) and isinstance(leaf, LeafBrake)
    assert [p.outline for p in press.punches] == [p.outline for p in usual_press().punches]
    assert {n.outline for n in leaf.noses} == {n.outline for n in usual_leaf().noses}
    assert (press.ram, press.bed, leaf.bed, leaf.leaf) == (
        *(usual_press().ram, usual_press().bed),
        *(usual_leaf().bed, usual_leaf().leaf),
    )


def test_one_file_may_describe_both() -> None:
    both = PRESS + LEAF.split('units = "mm"\n')[1]
    assert [type(b) for b in read_tooling(both, "b")] == [PressBrake, LeafBrake]


def test_inches() -> None:
    """The same file in inches gives outlines 25.4 times as large."""
    (mm,), (inch,) = read_tooling(PRESS, "p"), read_tooling(PRESS.replace('units = "mm"', 'units = "in"'), "p")
    assert isinstance(mm, PressBrake) and isinstance(inch, PressBrake)
    assert inch.punches[0].height_mm == pytest.approx(25.4 * mm.punches[0].height_mm)
    assert inch.dies[0].outline[0].y == pytest.approx(25.4 * mm.dies[0].outline[0].y)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("open_height = 220", "open_hight = 220", "did you mean 'open_height'"),
        ("capacity_kn = 600 ", "capacity_kn = 0 ", "give more than 0"),
        ("most_kn_per_m = 500", "most_kn_per_m = -5", "give more than 0"),
        ("angle = 84", "angle = 184", "give 20 to 120 degrees"),
        ("[[0, 0], [0.7, 0.3], [6.5, 6.9]", "[[0, 1], [0.7, 1.3], [6.5, 6.9]", "lowest corner is not [0, 0]"),
        ("height = 120", "height = 110", "the outline is 120 mm high"),
        ("width = 20", "width = 9", "wider than the V"),
        ("[45, -600], [45, 0]", "[45, 0], [45, -600]", "crosses or touches itself"),
        ("[[-45, -600], [45, -600], [45, 0], [-45, 0]]", "[[-45, -600], [45, -600], [45, 9], [-45, 0]]",
         "the sheet's other side"),
        ("ram = [[-30, 0],", "ram = [[-30],", "a corner of an outline is two values"),
        ('units = "mm"', 'units = "cm"', "did you mean 'mm'"),
        ("[press]", "[pres]", "did you mean 'press'"),
    ],
)  # fmt: skip
def test_faults_are_told_with_their_place(old: str, new: str, said: str) -> None:
    assert old in PRESS
    told = faults(PRESS.replace(old, new, 1))
    assert said in told
    assert all(line.startswith("shop.toml:") for line in told.splitlines())


def test_a_brake_needs_tools() -> None:
    assert "needs a punch and a die" in faults(PRESS.split("[[punches]]")[0])
    assert "needs a nose" in faults(LEAF.split("[[noses]]")[0])
    assert "neither a press nor a leaf brake" in faults('title = "x"\nunits = "mm"\n')
    assert "lower front corner" in faults(LEAF.replace("outline = [[0, 0], [140, 0]", "outline = [[9, 9], [140, 0]", 1))


def area(ring: list[tuple[float, float]]) -> float:
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(ring, [*ring[1:], ring[0]], strict=True)) / 2


def test_convex_pieces_cover_an_outline_and_are_few() -> None:
    """A V die: the block 26 x 60 less the triangle 16 wide and 8/tan 42 deep; and no piece bends inward."""
    die = next(d for d in usual_press().dies if d.opening_mm == 16)
    pieces = convex_pieces(die.outline)
    assert sum(map(area, pieces)) == pytest.approx(26.0 * 60.0 - 8.0 * 8.0 / 0.90040404, rel=1e-7)
    assert len(pieces) <= 4
    for piece in pieces:
        for a, b, c in zip(piece, piece[1:] + piece[:1], piece[2:] + piece[:2], strict=True):
            assert (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0]) >= -1e-9
