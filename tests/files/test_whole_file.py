"""Files appear whole or not at all."""

from __future__ import annotations

from pathlib import Path

import pytest

from bracketgen.files import disk as whole_file
from bracketgen.files.disk import write_together, write_whole


def names(folder: Path) -> list[str]:
    return sorted(p.name for p in folder.iterdir())


def test_writes_and_replaces(tmp_path: Path) -> None:
    target = tmp_path / "tab.dxf"
    write_whole(target, b"first")
    write_whole(target, b"second, longer")
    assert target.read_bytes() == b"second, longer"
    assert names(tmp_path) == ["tab.dxf"]


def test_takes_the_usual_permissions(tmp_path: Path) -> None:
    plain, written = tmp_path / "plain", tmp_path / "written"
    plain.write_bytes(b"")
    write_whole(written, b"")
    assert written.stat().st_mode == plain.stat().st_mode


def test_leaves_nothing_when_the_disk_fails(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    target = tmp_path / "tab.dxf"
    target.write_bytes(b"old")

    def half_written(path: Path, data: bytes) -> None:
        path.write_bytes(data[:1])
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(whole_file, "_create", half_written)
    with pytest.raises(OSError, match="No space"):
        write_whole(target, b"new")
    assert target.read_bytes() == b"old"
    assert names(tmp_path) == ["tab.dxf"]


def test_missing_folder_is_an_error_and_makes_no_folder(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError):
        write_whole(tmp_path / "nowhere" / "tab.dxf", b"x")
    assert names(tmp_path) == []


def test_several_files_all_or_none(tmp_path: Path) -> None:
    old, fresh, blocked = tmp_path / "a.dxf", tmp_path / "b.png", tmp_path / "c.json"
    old.write_bytes(b"old")
    blocked.mkdir()
    with pytest.raises(OSError):
        write_together({old: b"new", fresh: b"new", blocked: b"new"})
    assert old.read_bytes() == b"old"
    assert names(tmp_path) == ["a.dxf", "c.json"]
    assert blocked.is_dir()


def test_several_files_all(tmp_path: Path) -> None:
    files = {tmp_path / "a.dxf": b"1", tmp_path / "b.json": b"2"}
    write_together(files)
    assert {path: path.read_bytes() for path in files} == files
    assert names(tmp_path) == ["a.dxf", "b.json"]
