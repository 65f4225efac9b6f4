"""Faulty descriptions: each file of tests/faulty says in its first lines where its faults stand and what is said.

A line `# fault 7:9: words | words` was set by hand: line and column as an editor counts them, and words that
the message has to hold. The faults of a file are all told, in this order, and there are no others.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from bracketgen.errors import Fault, InputFaults
from bracketgen.pipeline import work_out

FOLDER = Path(__file__).parents[1] / "faulty"
FILES = sorted(FOLDER.glob("*/*.toml"))
EXPECTED = re.compile(r"# fault (\d+):(\d+): (.*)")


def faults_of(text: str, file: str = "part.toml", folder: Path = FOLDER) -> tuple[Fault, ...]:
    """The faults that a description ends with."""
    with pytest.raises(InputFaults) as caught:
        work_out(text, file, "part", folder=str(folder))
    return caught.value.faults


def places(faults: tuple[Fault, ...]) -> list[tuple[int, int]]:
    return [(f.place.line, f.place.column) for f in faults]


def test_there_are_a_hundred_of_them() -> None:
    assert len(FILES) >= 100


@pytest.mark.parametrize("file", FILES, ids=lambda f: f"{f.parent.name}/{f.stem}")
def test_every_fault_is_told_in_its_place(file: Path) -> None:
    text = file.read_text(encoding="utf-8")
    expected = [found.groups() for found in map(EXPECTED.fullmatch, text.splitlines()) if found]
    assert expected
    faults = faults_of(text, file.name, file.parent)
    assert places(faults) == sorted((int(line), int(column)) for line, column, _ in expected)
    for fault, (*_, words) in zip(faults, sorted(expected, key=lambda e: (int(e[0]), int(e[1]))), strict=True):
        assert fault.place.file == file.name
        for word in words.split(" | "):
            assert word in str(fault)
        assert fault.cure or ":" in fault.what


def test_the_message_is_file_line_column_what_and_cure() -> None:
    (fault,) = faults_of('title = "Test"\nunits = "cm"\n[stock]\nmetal = "S235"\nthickness = 3\n', "tab.toml")[:1]
    assert str(fault) == "tab.toml:2:9: 'cm' is not known here; did you mean 'mm'? allowed: mm, in"
