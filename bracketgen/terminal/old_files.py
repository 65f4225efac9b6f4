"""Files of an earlier run: when a run doesn't write them anew, they must not be left looking fresh."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from pathlib import Path
from typing import Final

#: Stands before the name of a file that an earlier run wrote.
OLD: Final = "OLD-"
_ENDINGS: Final = (".dxf", ".png", ".json", "-site.png", "-site.glb", ".step", ".stl", ".3mf", ".glb")


def set_aside(folder: Path, name: str, fresh: Collection[str] = ()) -> tuple[str, ...]:
    """Renames the part's files in `folder` that are not among `fresh`; the new paths, as text.

    Nothing is deleted but what was set aside before. Raises OSError.
    """
    return _renamed((folder / f"{name}{ending}" for ending in _ENDINGS), fresh)


def set_sheets_aside(folder: Path, job: str, fresh: Collection[str] = ()) -> tuple[str, ...]:
    """The same for the sheets that a job was laid on: an earlier run may have needed more of them."""
    found = sorted(path for ending in ("dxf", "png") for path in folder.glob(f"{job}-sheet-*.{ending}"))
    return _renamed((path for path in found if path.stem.removeprefix(f"{job}-sheet-").isdecimal()), fresh)


def set_brake_sheet_aside(folder: Path, name: str) -> tuple[str, ...]:
    """The same for a part's brake sheet."""
    return _renamed([folder / f"{name}-brake.pdf"], ())


def _renamed(paths: Iterable[Path], fresh: Collection[str]) -> tuple[str, ...]:
    moved = []
    for path in paths:
        if path.name not in fresh and path.is_file():
            aside = path.with_name(OLD + path.name)
            path.replace(aside)
            moved.append(str(aside))
    return tuple(moved)
