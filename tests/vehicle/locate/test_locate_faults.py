"""Readings that make no sense are faults, all of them in one run, each in its place."""

from __future__ import annotations

import pytest

from bracketgen.errors import InputFaults
from bracketgen.vehicle.locate.locate import locate
from bracketgen.vehicle.site import read_site

HEAD = """title = "faults"
units = "mm"
[faces.left.holes]
A = { diameter = 8.5 }
B = { diameter = 8.5 }
C = { thread = "M8" }
[faces.right.holes]
D = { diameter = 8.5 }
E = { short = 8.5, long = 9.5, direction = 0 }
"""


def reading(kind: str, **values: object) -> str:
    lines = [f'kind = "{kind}"']
    for key, value in values.items():
        said = f'"{value}"' if isinstance(value, str) else str(value).replace("'", '"')
        lines.append(f"{key.rstrip('_')} = {said}")
    return "[[readings]]\n" + "\n".join(lines) + "\n"


def faults(text: str) -> list[str]:
    with pytest.raises(InputFaults) as caught:
        locate(read_site(text, "site.toml", "site"))
    return [str(fault) for fault in caught.value.faults]


#: A reading, the line within it where the fault stands (the header is line 0), and words of the fault.
CASES = {
    "unknown hole": (
        reading("distance", from_="left.A", to="left.X", over="centres", value=50),
        3,
        "there is no hole 'left.X'; did you mean 'left.A'?",
    ),
    "same hole": (reading("distance", from_="left.A", to="left.A", over="centres", value=50), 3, "both ends"),
    "thread has no edge": (
        reading("distance", from_="left.A", to="left.C", over="inner", value=50),
        4,
        "'inner' needs the diameter of left.C, and only its thread is given",
    ),
    "pin in a worn hole": (
        reading("distance", from_="right.D", to="right.E", over="pins", pins=[6, 6], value=50),
        4,
        "a pin has no place of its own in the worn hole right.E",
    ),
    "level for a length": (
        reading("distance", from_="left.A", to="left.B", over="centres", value=50, tool="level"),
        6,
        "a level shows deg, but a distance is given in mm",
    ),
    "tape for a tilt": (
        reading("tilt", faces=["left", "right"], value="3 deg", tool="tape"),
        4,
        "a tape shows mm, but a tilt is given in deg",
    ),
    "square over two faces": (
        reading("square", hole="left.A", line=["left.B", "right.D"], value=3),
        3,
        "a square distance lies on one face",
    ),
    "square of two holes": (
        reading("square", hole="left.A", line=["left.A", "left.B"], value=3),
        3,
        "three different holes",
    ),
    "step on its own face": (reading("step", hole="left.A", face="left", value=3), 3, "left.A is on left itself"),
    "unknown face": (reading("step", hole="left.A", face="rihgt", value=3), 3, "did you mean 'right'?"),
    "tilt of one face": (reading("tilt", faces=["left", "left"], value="3 deg"), 2, "same face"),
    "tilt out of range": (reading("tilt", faces=["left", "right"], value="-4 deg"), 3, "a tilt of -4 deg can't be"),
    "level over two faces": (reading("level", from_="left.A", to="right.D", value="1 deg"), 3, "a level lies on one"),
    "level out of range": (reading("level", from_="left.A", to="left.B", value="91 deg"), 4, "a rise of 91 deg"),
    "error of nothing": (
        reading("tilt", faces=["left", "right"], value="3 deg", error="0 deg"),
        4,
        "an error is more than 0",
    ),
}


@pytest.mark.parametrize("case", list(CASES))
def test_a_fault_stands_where_it_was_written(case: str) -> None:
    text, line, words = CASES[case]
    told = faults(HEAD + text)
    assert len(told) == 1
    start = HEAD.count("\n") + 1
    assert told[0].startswith(f"site.toml:{start + line}:")
    assert words in told[0]


def test_all_faults_are_told_at_once() -> None:
    told = faults(HEAD + "".join(text for text, _, _ in CASES.values()))
    assert len(told) == len(CASES)


def test_no_readings_at_all() -> None:
    assert "there are no readings" in faults(HEAD)[0]


def test_a_worn_hole_alone_on_its_face_has_no_direction() -> None:
    text = HEAD.replace("D = { diameter = 8.5 }\n", "")
    told = faults(text + reading("distance", from_="left.A", to="left.B", over="centres", value=50))
    assert "site.toml:8:" in told[0] and "only this one" in told[0]


def test_long_is_the_longer_diameter_and_ends_belong_to_worn_holes() -> None:
    text = HEAD.replace("short = 8.5, long = 9.5", "short = 9.5, long = 8.5")
    text = text.replace("B = { diameter = 8.5 }", 'B = { diameter = 8.5, unworn = "end" }')
    told = faults(text + reading("distance", from_="left.A", to="left.B", over="centres", value=50))
    assert "this hole is not worn" in told[0] and "smaller than the short one" in told[1]


def test_a_direction_has_a_length() -> None:
    text = HEAD.replace('units = "mm"\n', 'units = "mm"\ndown = [0, 0, 0]\n')
    told = faults(text + reading("distance", from_="left.A", to="left.B", over="centres", value=50))
    assert "site.toml:3:" in told[0] and "no length" in told[0]
