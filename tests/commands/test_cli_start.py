from __future__ import annotations

import json
from pathlib import Path

import pytest
from command_line import names, run, words
from jsonschema import Draft202012Validator

from bracketgen.commands.new import kinds


@pytest.mark.parametrize("kind", kinds())
def test_a_starter_is_clean_as_it_is(tmp_path: Path, kind: str) -> None:
    file = tmp_path / "mine.toml"
    done = run("new", kind, file)
    assert done.code == 0
    assert f"bracketgen make {file}" in done.out
    made = run("make", file, "--strict", "--only", "dxf,json", "--out", tmp_path / "out")
    assert made.code == 0, made.out + made.err
    assert names(tmp_path / "out") == {"mine.dxf", "mine.json"}


@pytest.mark.parametrize("kind", kinds())
def test_every_parameter_of_a_starter_may_go_to_its_limits(tmp_path: Path, kind: str) -> None:
    import tomllib

    file = tmp_path / "mine.toml"
    run("new", kind, file)
    parameters = tomllib.loads(file.read_text(encoding="utf-8")).get("parameters", {})
    for name, table in parameters.items():
        for limit in ("least", "most"):
            done = run("check", file, "--set", f"{name}={table[limit]}")
            assert done.code == 0, (name, limit, done.out, done.err)


def test_there_are_five_kinds_and_each_is_explained() -> None:
    assert len(kinds()) >= 5
    help_text = run("new", "--help").out
    for kind in kinds():
        assert kind in help_text


def test_an_ending_is_added_and_nothing_is_overwritten(tmp_path: Path) -> None:
    assert run("new", "tab", tmp_path / "mine").code == 0
    (tmp_path / "mine.toml").write_text("my own work", encoding="utf-8")
    done = run("new", "flange", tmp_path / "mine.toml")
    assert done.code == 2
    assert "it is there already and stays as it is" in done.err
    assert (tmp_path / "mine.toml").read_text(encoding="utf-8") == "my own work"


def test_an_unknown_kind_and_a_missing_folder_are_told_together(tmp_path: Path) -> None:
    done = run("new", "angel", tmp_path / "gone" / "mine.toml")
    assert done.code == 2
    assert "did you mean angle?" in done.err
    assert "there is no folder" in done.err
    assert names(tmp_path) == set()


def test_the_schema_is_printed_or_written(tmp_path: Path) -> None:
    printed = json.loads(run("schema").out)
    Draft202012Validator.check_schema(printed)
    done = run("schema", "--out", tmp_path / "schema.json")
    assert done.code == 0
    assert json.loads((tmp_path / "schema.json").read_text(encoding="utf-8")) == printed
    assert run("schema", "--out", tmp_path / "gone" / "schema.json").code == 2


_OPTIONS = {
    "make": ("--out", "--set", "--table", "--only", "--strict", "--even-if-failed", "--brief"),
    "check": ("--set", "--table", "--strict", "--brief"),
    "show": (),
    "bend": (
        "--thickness",
        "--radius",
        "--die",
        "--turn",
        "--between",
        "--method",
        "--k",
        "--metal",
        "--handbook-metal",
        "--shop-table",
        "--strip",
        "--legs",
        "--sizes",
        "--unit",
    ),
    "new": (),
    "schema": ("--out",),
}


@pytest.mark.parametrize("command", _OPTIONS)
def test_help_lists_the_command_and_its_options(command: str) -> None:
    assert f"  {command} " in run("--help").out
    done = run(command, "--help")
    assert done.code == 0
    for option in (*_OPTIONS[command], "--help"):
        assert option in done.out
    # An option without a word of help would stand alone in its line.
    lonely = [line for line in done.out.splitlines() if line.startswith("  --") and len(line.split()) == 1]
    assert lonely == []


def test_without_a_command_the_help_is_shown() -> None:
    assert "Commands:" in run().out + run().err
    assert words(run("--version").out).startswith("bracketgen ")
