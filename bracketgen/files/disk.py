"""Writing files whole or not at all, beside the target first, then moved over it in one step; zips and packs."""

from __future__ import annotations

import hashlib
import io
import json
import os
import secrets
import time
import zipfile
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, contextmanager, suppress
from glob import escape
from pathlib import Path
from typing import Final

try:
    import fcntl
except ImportError:  # Windows has none.
    fcntl = None  # type: ignore[assignment]

#: How the name of a file ends that is still being written.
_HALF: Final = ".part"
#: Where runs go on side by side, a half file that has not grown for so long is left over (own choice).
_LEFT_AFTER_S: Final = 600.0


def write_whole(path: Path, data: bytes) -> None:
    """Write one file whole or not at all. The folder must exist.

    Raises OSError as the system gives it; then nothing of `data` is left and an older file stands unharmed.
    """
    write_together({path: data})


def write_together(files: Mapping[Path, bytes]) -> None:
    """Write several files, all of them or none. The folders must exist.

    Only one run writes into a folder at a time; another waits. What a killed run left half written is cleared first,
    and the data is on the disk before a name stands for it: whatever stops the machine, a name holds a whole file.
    Raises OSError as the system gives it; then every target is what it was before.
    """
    staged: dict[Path, Path] = {}
    replaced: dict[Path, bytes | None] = {}
    with ExitStack() as held:
        for folder in sorted({path.parent for path in files}):
            held.enter_context(_alone_in(folder))
        try:
            for path, data in files.items():
                _clear_left_over(path)
                staged[path] = _beside(path)
                _create(staged[path], data)
            for path, temporary in staged.items():
                before = path.read_bytes() if path.is_file() else None
                temporary.replace(path)
                replaced[path] = before
        except BaseException:
            for path, before in replaced.items():
                _put_back(path, before)
            for temporary in staged.values():
                temporary.unlink(missing_ok=True)
            raise


@contextmanager
def _alone_in(folder: Path) -> Iterator[None]:
    """Holds the folder against other runs of this tool; the system lets go of it when the run ends, however it ends.

    Where folders can't be held (Windows, some network disks) runs go on side by side: each file is still whole, and
    papers of two states tell themselves apart by their marks.
    """
    if fcntl is None:
        yield
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        with suppress(OSError):
            fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)


def _beside(path: Path) -> Path:
    """A free name in the target's own folder, so that moving it over the target is one step of the disk."""
    return path.with_name(f".{path.name}.{secrets.token_hex(4)}{_HALF}")


def _clear_left_over(path: Path) -> None:
    """Removes what a killed run left of this file.

    Where runs go on side by side, one that is being written at this moment is younger than a left-over one.
    """
    for left in path.parent.glob(f".{escape(path.name)}.????????{_HALF}"):
        if fcntl is not None or time.time() - left.stat().st_mtime > _LEFT_AFTER_S:
            left.unlink(missing_ok=True)


def _create(path: Path, data: bytes) -> None:
    # "x" never follows or overwrites what somebody else put there, and takes the user's usual permissions.
    with path.open("xb") as stream:
        stream.write(data)
        stream.flush()
        os.fsync(stream.fileno())


def _put_back(path: Path, before: bytes | None) -> None:
    if before is None:
        path.unlink(missing_ok=True)
        return
    temporary = _beside(path)
    _create(temporary, before)
    temporary.replace(path)


# -- a zip whose bytes depend on nothing but what is in it

#: The earliest date that a zip can hold: the same files give the same bytes on any day.
_DATE: Final = (1980, 1, 1, 0, 0, 0)
#: Regular file that its owner may write and everybody read, in the high half of a zip's attributes.
_RIGHTS: Final = 0o100644 << 16
_UNIX: Final = 3


def fixed_zip(files: Mapping[str, bytes], comment: str = "") -> bytes:
    """The files by their names, in the order given; `comment` (ASCII) stands uncompressed at the zip's end."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, mode="w", compression=zipfile.ZIP_DEFLATED, compresslevel=9) as packed:
        for name, data in files.items():
            entry = zipfile.ZipInfo(name, _DATE)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.create_system = _UNIX
            entry.external_attr = _RIGHTS
            packed.writestr(entry, data)
        packed.comment = comment.encode("ascii")
    return stream.getvalue()


# -- the hand-over pack: a folder or one zip, with a list of its files that shows whether they came over whole

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
