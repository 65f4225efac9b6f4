from __future__ import annotations

import copy
import json
import tomllib
from pathlib import Path
from typing import Any

import pytest
from command_line import ANGLE, FAILING, FAULTY, PLATE
from jsonschema import Draft202012Validator

import bracketgen.commands
from bracketgen.description.read import read
from bracketgen.description.schema import description_schema
from bracketgen.errors import InputFaults

_ROOT = Path(__file__).parents[2]
_STARTERS = sorted((Path(bracketgen.commands.__file__).parent / "starters").glob("*.toml"))
_SHAPES = sorted((_ROOT / "shapes").glob("*.toml"))

_SCHEMA = description_schema()
_CHECK = Draft202012Validator(_SCHEMA)


def _load(text: str) -> dict[str, Any]:
    return tomllib.loads(text)


def test_the_schema_is_one() -> None:
    Draft202012Validator.check_schema(_SCHEMA)
    assert "null" not in json.dumps(_SCHEMA)


@pytest.mark.parametrize("path", [*_STARTERS, *_SHAPES], ids=lambda path: path.stem)
def test_every_starter_and_shape_is_valid(path: Path) -> None:
    assert [e.message for e in _CHECK.iter_errors(_load(path.read_text(encoding="utf-8")))] == []


def test_there_are_starters_to_check() -> None:
    assert len(_STARTERS) >= 5


@pytest.mark.parametrize("text", [PLATE, ANGLE, FAILING])
def test_what_can_be_made_is_valid(text: str) -> None:
    assert _CHECK.is_valid(_load(text))


def test_what_the_tool_refuses_for_its_keys_is_refused() -> None:
    assert not _CHECK.is_valid(_load(FAULTY))


#: One wrong thing each: the text to replace, and what stands there instead.
_SLIPS = [
    ("title =", "titel ="),
    ('title = "Plain angle"', ""),
    ('title = "Plain angle"', 'title = ""'),
    ('units = "mm"', 'units = "cm"'),
    ('units = "mm"', ""),
    ('units = "mm"', 'units = "mm"\nangle = 3'),
    ("thickness = 2", "thickness = true"),
    ("thickness = 2", "thickness = [2]"),
    ("thickness = 2", ""),
    ("[stock]", "[stok]"),
    ("turn = 90,", ""),
    ("turn = 90", "turn = 90, between = 90"),
    ("turn = 90", "angle = 90"),
    ('edge = "top"', 'edge = "upper"'),
    ('edge = "top",', ""),
    ('edge = "top"', 'edge = "top", line = [[0, 0], [1, 0]]'),
    ('way = "down"', 'way = "left"'),
    (', way = "down"', ""),
    ('from = "foot"', "from = 3"),
    ('shape = "rectangle", width', 'shape = "square", width'),
    ('shape = "rectangle", width = 60', "width = 60"),
    (", height = 40", ""),
    ("k_factor = 0.5", ""),
    ("inside_radius = 6", "inside_radius = 6\npunch_radius = 6"),
    ('allowance = "K factor"', 'allowance = "k-factor"'),
    ('sizes = "outside"', 'sizes = "outer"'),
    ("height = 40 }", "height = 40 }\nholes = [{ at = [10, 10] }]"),
    ("height = 40 }", 'height = 40 }\nholes = [{ at = [10, 10], bolt = "M6", diameter = 7 }]'),
    ("height = 40 }", 'height = 40 }\nholes = [{ at = [10], bolt = "M6" }]'),
    ("height = 40 }", 'height = 40 }\nholes = [{ bolt = "M6", pattern = { kind = "ring" } }]'),
    ("height = 40 }", 'height = 40 }\ncutouts = [{ shape = "rectangle", at = [9, 9] }]'),
    ("height = 40 }", "height = 40 }\nmarks = [{ start = [9, 9] }]"),
]


@pytest.mark.parametrize(("there", "instead"), _SLIPS)
def test_a_slip_is_refused_by_schema_and_reader_alike(there: str, instead: str) -> None:
    assert there in ANGLE
    text = ANGLE.replace(there, instead, 1)
    assert not _CHECK.is_valid(_load(text))
    with pytest.raises(InputFaults):
        read(text, "slip.toml")


def _tables(value: Any, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    """Paths of every table that has keys of its own (not names given by the person)."""
    found = [path] if isinstance(value, dict) and path not in ((), ("panels",), ("parameters",)) else []
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return found + [deeper for key, inner in items for deeper in _tables(inner, (*path, key))]


@pytest.mark.parametrize("path", _STARTERS, ids=lambda path: path.stem)
def test_an_unknown_key_is_refused_in_every_table(path: Path) -> None:
    whole = _load(path.read_text(encoding="utf-8"))
    for table in [(), *_tables(whole)]:
        changed = copy.deepcopy(whole)
        here: Any = changed
        for step in table:
            here = here[step]
        here["surely_unknown"] = 1
        assert not _CHECK.is_valid(changed), table
