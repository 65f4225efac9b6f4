"""The hand-over pack: a folder or one zip, with a list of its files that shows whether they came over whole."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from bracketgen.files.disk import fixed_zip, write_together

#: Lists every other file with its size and checksum, for programs.
MANIFEST: Final = "manifest.json"
#: The same checksums in the form that `sha256sum --check` reads.
CHECKSUMS: Final = "checksums.txt"
#: Stands before the name of a pack that an earlier run wrote.
OLD: Final = "OLD-"


def with_manifest(files: Mapping[str, bytes]) -> dict[str, bytes]:
    """The files, sorted by name, with their manifest and checksums."""
    told = {name: {"bytes": len(data), "sha256": _sha256(data)} for name, data in sorted(files.items())}
    listed = dict(sorted(files.items()))
    listed[MANIFEST] = (json.dumps({"files": told}, indent=1, sort_keys=True) + "\n").encode()
    lines = "".join(f"{_sha256(data)}  {name}\n" for name, data in listed.items())
    return listed | {CHECKSUMS: lines.encode()}


def _sha256(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def zip_bytes(folder: str, files: Mapping[str, bytes]) -> bytes:
    """One zip that holds the files in a folder of that name."""
    return fixed_zip({f"{folder}/{name}": data for name, data in sorted(files.items())})


def write_pack(folder: Path, files: Mapping[str, bytes]) -> str:
    """Writes the folder; one of that name with other files in it is renamed first. Its new name, or ''.

    Raises OSError.
    """
    aside = "" if _same_names(folder, files) else set_pack_aside(folder)
    for name in files:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
    write_together({folder / name: data for name, data in files.items()})
    return aside


def set_pack_aside(path: Path) -> str:
    """Renames a pack of an earlier run, folder or zip, to a free name; that name, or '' when there is none.

    Raises OSError.
    """
    if not path.exists():
        return ""
    number, aside = 1, path.with_name(OLD + path.name)
    while aside.exists():
        number += 1
        aside = path.with_name(f"OLD{number}-{path.name}")
    path.rename(aside)
    return str(aside)


def _same_names(folder: Path, files: Mapping[str, bytes]) -> bool:
    if not folder.is_dir():
        return not folder.exists()
    held = {p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file()}
    return held <= files.keys()
