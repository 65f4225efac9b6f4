"""The schema of site files and their keys in words: the sites pass, slips are refused, what can be written is told."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest
from command_line import run, words
from jsonschema import Draft202012Validator
from sample_parts import SHAPES

from bracketgen.vehicle.site import site_schema

_SITES = sorted((SHAPES / "sites").glob("*.site.toml"))
_CHECK = Draft202012Validator(site_schema())


def test_the_schema_is_one() -> None:
    Draft202012Validator.check_schema(site_schema())
    assert json.loads(run("schema", "--of", "site").out) == site_schema()


@pytest.mark.parametrize("path", _SITES, ids=lambda path: path.stem)
def test_every_site_is_valid(path: Path) -> None:
    assert [e.message for e in _CHECK.iter_errors(tomllib.loads(path.read_text(encoding="utf-8")))] == []


@pytest.mark.parametrize(
    ("there", "instead"),
    [
        ("[carried.flexible]", "[carried.flexibel]"),
        ("stroke = [15, 12, 12]", ""),
        ("stroke = [15, 12, 12]", "stroke = [15, 12]"),
        ("stroke = [15, 12, 12]", "stroke = true"),
        ('body = "exhaust"  ', "body = 3  "),
    ],
)
def test_a_slip_is_refused(there: str, instead: str) -> None:
    text = next(p for p in _SITES if p.name == "exhaust-hanger.site.toml").read_text(encoding="utf-8")
    assert there in text
    assert not _CHECK.is_valid(tomllib.loads(text.replace(there, instead)))


def test_the_keys_of_a_site_are_told() -> None:
    said = words(run("show", "site-keys").out)
    for key in ("flexible: ", "stroke: [x, y, z] or value", "removal_then: list of removal leg", "toward: ", "pivot: "):
        assert key in said
    assert "grip: 'hand' or 'strap wrench'" in said and "faces: named tables" in said
    assert "site-keys" in words(run("show").out)
