from __future__ import annotations

import csv
import re
from pathlib import Path

import pytest
from command_line import run, words
from pydantic import BaseModel

import bracketgen.standards
from bracketgen.description.model.document import Document
from bracketgen.rules.engine import all_rules
from bracketgen.shop.brake.tooling_file import ToolingDocument
from bracketgen.shop.order import JobDocument
from bracketgen.terminal.screen import WIDTH
from bracketgen.vehicle.site import SiteDocument

_TABLES = sorted((Path(bracketgen.standards.__file__).parent / "tables").glob("*.csv"))


def _rows(path: Path) -> list[dict[str, str]]:
    lines = [line for line in path.read_text(encoding="utf-8").splitlines() if not line.startswith("# ")]
    return list(csv.DictReader(lines))


@pytest.mark.parametrize("path", _TABLES, ids=lambda path: path.stem)
def test_a_table_shows_every_cell_and_cites_every_row(path: Path) -> None:
    done = run("show", path.stem)
    assert done.code == 0
    body, sources = done.out.split("\nSources\n")
    in_paragraphs = any(len(cell) > WIDTH for row in _rows(path) for cell in row.values())
    for row in _rows(path):
        if in_paragraphs:
            assert all(words(cell) in words(body) for column, cell in row.items() if "source" not in column)
            continue
        first = next(iter(row.values()))
        shown = [re.split(" {2,}", line.strip()) for line in body.splitlines()]
        cells = {cell for line in shown if line[0] == first for cell in line}
        told = {cell for column, cell in row.items() if cell and "source" not in column}
        assert told <= cells
        assert any(cell.startswith("[") for cell in cells)
    assert body.count("source: [") == len(_rows(path)) or not in_paragraphs
    numbers = {word.strip("[]") for word in body.split() if word.startswith("[") and word.endswith("]")}
    listed = {line.split("]")[0].strip(" [") for line in sources.splitlines() if line.lstrip().startswith("[")}
    assert numbers == listed
    assert max(len(line) for line in done.out.splitlines()) <= 92


def test_a_source_is_cited_in_full() -> None:
    said = words(run("show", "holes").out)
    assert "ISO 273:1979, Fasteners - Clearance holes for bolts and screws" in said


@pytest.mark.parametrize(
    ("typed", "title"),
    [
        ("metals", "Sheet metals"),
        ("Metals", "Sheet metals"),
        ("bolts", "Bolts, nuts and washers"),
        ("processes", "Cutting processes"),
        ("clearance-holes", "Clearance holes"),
        ("clearance holes", "Clearance holes"),
        ("clearance_holes", "Clearance holes"),
    ],
)
def test_a_table_answers_to_the_words_people_use(typed: str, title: str) -> None:
    assert run("show", typed).out.startswith(title)


def test_without_a_word_every_table_is_listed() -> None:
    out = run("show").out
    for name in (*(path.stem for path in _TABLES), "rules", "sources", "keys", "site-keys", "job-keys", "tooling-keys"):
        assert f"\n{name} " in out


def test_every_rule_is_shown_with_title_and_source() -> None:
    said = words(run("show", "rules").out)
    assert len(all_rules()) > 10
    for rule in all_rules():
        assert f"{rule.id}: {words(rule.title)}" in said


def test_every_key_of_a_description_is_shown() -> None:
    out = run("show", "keys").out
    for key in (*Document.model_fields, "from", "turn", "between", "k_factor", "rivet_nut"):
        assert f"    {key}: " in out


@pytest.mark.parametrize(
    ("typed", "model", "deeper"),
    [
        ("site-keys", SiteDocument, ("from", "over", "removal", "turn_room", "unworn")),
        ("site", SiteDocument, ("pins",)),
        ("job_keys", JobDocument, ("quantity", "cut_mm_per_min", "margin")),
        ("tooling-keys", ToolingDocument, ("open_height", "lengths", "lift")),
    ],
)
def test_every_key_of_the_other_files_is_shown(typed: str, model: type[BaseModel], deeper: tuple[str, ...]) -> None:
    done = run("show", typed)
    assert done.code == 0
    for key in (*model.model_fields, *deeper):
        assert f"    {key}: " in done.out
    assert ": A angle" not in done.out
    assert max(len(line) for line in done.out.splitlines()) <= 92


def test_places_in_space_are_shown_with_three_values_and_pairs_of_names_as_names() -> None:
    said = words(run("show", "site-keys").out)
    assert "points: list of [x, y, z]" in said
    assert "faces: [name, name]" in said
    assert "pins: [x, y]" in said


def test_an_unknown_table_is_told() -> None:
    done = run("show", "metalz")
    assert (done.code, done.out) == (2, "")
    assert "there is no table 'metalz'; did you mean metals?" in done.err
