"""A long batch on several processors: the same files, words and exit code as on one."""

from __future__ import annotations

from pathlib import Path

import pytest
from command_line import PLATE, Run, run, written

from bracketgen.terminal import batch

#: Every kind of row: clean, with a fault in its cell, failing a rule.
ROWS = [f"part-{i},{'wide' if i % 9 == 4 else '1 mm' if i % 9 == 7 else f'{5 + i / 10:g} mm'}" for i in range(40)]


def _made(monkeypatch: pytest.MonkeyPatch, processors: int, *more: str) -> tuple[Run, dict[str, bytes]]:
    monkeypatch.setattr(batch, "_processors", lambda: processors)
    folder = f"out-{processors}"
    done = run("make", "plate.toml", "--table", "parts.csv", "--only", "dxf,json", "--out", folder, *more)
    files = {path.name: path.read_bytes() for path in Path(folder).iterdir()}
    return Run(done.code, done.out.replace(folder, "out"), done.err.replace(folder, "out")), files


def test_two_processes_make_and_say_what_one_does(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    written(tmp_path, plate=PLATE.replace('least = "5 mm"', 'least = "1 mm"'))
    Path("parts.csv").write_text("\n".join(["name,bore", *ROWS]) + "\n", encoding="utf-8")
    alone, files = _made(monkeypatch, 1)
    shared, the_same = _made(monkeypatch, 2)
    assert alone.code == 2
    assert "40 parts: 32 clean, 4 failed, 4 with input faults" in alone.out
    assert shared == alone
    assert len(files) == 64
    assert the_same == files


def test_work_is_shared_out_only_where_there_is_enough(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[int] = []
    monkeypatch.setattr(batch, "_processors", lambda: 2)
    monkeypatch.setattr(batch, "_on_all_processors", lambda *_, **__: asked.append(1) or iter(()))
    nothing = [batch.Outcome("part")] * (batch._FEWEST_TO_SHARE - 1)
    assert batch.run_batch(nothing, lambda _: nothing[0], lambda _: None, shared=True) is batch.Exit.INPUT
    assert asked == []
    batch.run_batch([*nothing, nothing[0]], lambda _: nothing[0], lambda _: None, shared=True)
    assert asked == [1]


def _broken(task: batch.PartRequest) -> batch.Outcome:
    raise ZeroDivisionError(task.name)


def _silent(outcome: batch.Outcome) -> None:
    print("told", outcome.name)


def test_a_part_that_breaks_down_elsewhere_stops_no_other(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(batch, "_processors", lambda: 2)
    tasks = [batch.PartRequest("f.toml", "", f"part-{i}") for i in range(batch._FEWEST_TO_SHARE)]
    assert batch.run_batch(tasks, _broken, _silent, shared=True) is batch.Exit.INTERNAL
    lines = capsys.readouterr().out.splitlines()
    assert lines == [*(f"told {t.name}" for t in tasks), f"{len(tasks)} parts: {len(tasks)} broke down"]
