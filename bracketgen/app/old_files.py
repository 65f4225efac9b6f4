"""Files of an earlier run: when a run doesn't write them anew, they must not be left looking fresh."""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path
from typing import Final

#: Stands before the name of a file that an earlier run wrote.
OLD: Final = "OLD-"
_ENDINGS: Final = (".dxf", ".png", ".json", "-site.png", "-site.glb", ".step", ".stl", ".3mf", ".glb")


def set_aside(folder: Path, name: str, fresh: Collection[str] = ()) -> tuple[str, ...]:
    """Renames the part's files in `folder` that are not among `fresh`; the new paths, as text.

    Nothing is deleted but what was set aside before. Raises OSError.
    """
    moved = []
    for ending in _ENDINGS:
        path = folder / f"{name}{ending}"
        if path.name not in fresh and path.is_file():
            aside = path.with_name(OLD + path.name)
            path.replace(aside)
            moved.append(str(aside))
    return tuple(moved)
