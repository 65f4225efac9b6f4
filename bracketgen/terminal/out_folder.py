"""The folder where a run's files go: writing them, and setting aside what an earlier run left that this one did not.

Whatever the disk refuses is a fault of the folder that was named.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from bracketgen.errors import Fault, InputFaults, Place
from bracketgen.files.disk import write_together, write_whole

#: Stands before the name of a file that an earlier run wrote.
OLD: Final = "OLD-"


@contextmanager
def folder_faults(folder: Path) -> Iterator[None]:
    """Turns what the disk refuses into InputFaults."""
    try:
        yield
    except OSError as error:
        what = f"it can't be written to: {error.strerror or error}"
        if folder.is_file():
            what = "this is a file, and files can't be put into it"
        raise InputFaults([Fault(Place(str(folder)), what, "name another folder with --out")]) from None


def write_files(files: Mapping[str, bytes], folder: Path) -> tuple[str, ...]:
    """Writes all of these files or none; their paths as shown to a person. Raises InputFaults."""
    with folder_faults(folder):
        folder.mkdir(parents=True, exist_ok=True)
        write_together({folder / name: data for name, data in files.items()})
    return tuple(str(folder / name) for name in files)


def write_one(file: Path, data: bytes, cure: str = "name another file") -> None:
    """Writes a file that was named itself, whole or not at all. Raises InputFaults."""
    try:
        write_whole(file, data)
    except OSError as error:
        raise InputFaults([Fault(Place(str(file)), f"it can't be written: {error.strerror or error}", cure)]) from None


def set_aside(folder: Path, names: Iterable[str], fresh: Collection[str] = ()) -> tuple[str, ...]:
    """Renames those files in `folder` that are there and not among `fresh`; the new paths. Raises InputFaults.

    Nothing is deleted but what was set aside before.
    """
    moved = []
    with folder_faults(folder):
        for path in (folder / name for name in names):
            if path.name not in fresh and path.is_file():
                moved.append(str(path.replace(path.with_name(OLD + path.name))))
    return tuple(moved)


def aside_lines(moved: Iterable[str]) -> list[str]:
    """What is told of files that were set aside; '' stands for none."""
    return [f"  set aside: {path} (out of date)" for path in moved if path]
