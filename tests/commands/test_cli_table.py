from __future__ import annotations

import json
from pathlib import Path

import pytest
from command_line import PLATE, names, run, words, written


@pytest.fixture(autouse=True)
def _plate(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    written(tmp_path, plate=PLATE)


def _table(text: str, name: str = "parts.csv") -> None:
    Path(name).write_text(text, encoding="utf-8")


def _diameter(name: str) -> float:
    report = json.loads(Path("out", f"{name}.json").read_text(encoding="utf-8"))
    assert report["part"] == name
    diameter = report["holes"][0]["diameter_mm"]
    assert isinstance(diameter, float)
    return diameter


def test_every_row_is_a_part(tmp_path: Path) -> None:
    _table("name,bore\nten,10 mm\nhalf,1/2 in\nbare,12\nusual,\n")
    done = run("make", "plate.toml", "--table", "parts.csv", "--only", "dxf,json")
    assert (done.code, done.err) == (0, "")
    assert names(tmp_path / "out") == {f"{n}.{e}" for n in ("ten", "half", "bare", "usual") for e in ("dxf", "json")}
    assert [_diameter(n) for n in ("ten", "half", "bare", "usual")] == [10.0, 12.7, 12.0, 10.0]
    assert len(done.out.splitlines()) == 5
    assert done.out.splitlines()[-1] == "4 parts: 4 clean"


def test_a_picture_for_every_row_too(tmp_path: Path) -> None:
    _table("name,bore\na,10 mm\nb,12 mm\n")
    assert run("make", "plate.toml", "--table", "parts.csv").code == 0
    pictures = [(tmp_path / f"out/{n}.png").read_bytes() for n in ("a", "b")]
    assert all(p.startswith(b"\x89PNG") for p in pictures)
    assert pictures[0] != pictures[1]


def test_rows_with_faults_stop_no_other_row(tmp_path: Path) -> None:
    _table('name,bore\ngood,10 mm\nhuge,99 mm\ncomma,"12,5 mm"\nword,wide\nein teil,9 mm\ngood,8 mm\nlast,8 mm\n')
    done = run("make", "plate.toml", "--table", "parts.csv", "--only", "dxf")
    assert done.code == 2
    assert names(tmp_path / "out") == {"good.dxf", "last.dxf"}
    assert [line.split(" ")[0] for line in done.err.splitlines()] == [
        "parts.csv:3:6:",
        "parts.csv:4:7:",
        "parts.csv:5:6:",
        "parts.csv:6:1:",
        "parts.csv:7:1:",
    ]


def test_a_failing_row_gives_code_1_and_no_file(tmp_path: Path) -> None:
    written(tmp_path, plate=PLATE.replace('least = "5 mm"', 'least = "1 mm"'))
    _table("name,bore\nfine,10 mm\nsmall,1 mm\n")
    done = run("make", "plate.toml", "--table", "parts.csv", "--only", "dxf")
    assert done.code == 1
    assert names(tmp_path / "out") == {"fine.dxf"}
    assert "FAIL min-hole" in words(done.out)


def test_an_unknown_column_is_told_once_and_nothing_is_made(tmp_path: Path) -> None:
    _table("name,bor\na,10 mm\nb,11 mm\n")
    done = run("make", "plate.toml", "--table", "parts.csv")
    assert done.code == 2
    assert done.err == (
        "parts.csv:1:6: there is no parameter 'bor' to set; did you mean 'bore'? the description has: bore\n"
    )
    assert names(tmp_path / "out") == set()


def test_a_fault_of_the_description_is_told_once(tmp_path: Path) -> None:
    _table("name,bore\na,10 mm\nb,11 mm\n")
    run("make", "plate.toml", "--table", "parts.csv", "--only", "dxf")
    written(tmp_path, plate=PLATE.replace("width =", "widht ="))
    done = run("make", "plate.toml", "--table", "parts.csv", "--only", "dxf")
    assert done.code == 2
    assert len(done.err.splitlines()) == 1
    assert done.err.startswith("plate.toml:13:34: the key 'widht' is not known here")
    assert names(tmp_path / "out") == {"a.dxf", "b.dxf"}
    assert "out/a.dxf, out/b.dxf (of an earlier run" in words(done.out)


def test_a_setting_holds_for_every_row_but_not_twice() -> None:
    _table("name\na\nb\n")
    assert run("make", "plate.toml", "--table", "parts.csv", "--set", "bore=8 mm", "--only", "json").code == 0
    assert [_diameter("a"), _diameter("b")] == [8.0, 8.0]
    _table("name,bore\na,9 mm\n")
    done = run("make", "plate.toml", "--table", "parts.csv", "--set", "bore=8 mm")
    assert done.code == 2
    assert "parts.csv:1:6: 'bore' is set by --set too" in done.err


def test_a_table_makes_a_family_of_one_description(tmp_path: Path) -> None:
    written(tmp_path, other=PLATE)
    _table("name,bore\na,9 mm\n")
    done = run("make", "plate.toml", "other.toml", "--table", "parts.csv")
    assert done.code == 2
    assert "--table: a table makes a family of one description, but 2 files are named; name one file" in done.err


@pytest.mark.parametrize(
    ("name", "said"),
    [("gone.csv", "gone.csv: there is no such file"), ("empty.csv", "empty.csv:1:1: the table is empty")],
)
def test_a_table_that_can_not_be_read_is_told(name: str, said: str) -> None:
    _table("", "empty.csv")
    done = run("check", "plate.toml", "--table", name)
    assert done.code == 2
    assert said in done.err
