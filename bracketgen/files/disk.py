"""Writing files whole or not at all: beside the target first, then moved over it in one step."""

from __future__ import annotations

import io
import secrets
import zipfile
from collections.abc import Mapping
from pathlib import Path
from typing import Final


def write_whole(path: Path, data: bytes) -> None:
    """Write one file whole or not at all. The folder must exist.

    Raises OSError as the system gives it; then nothing of `data` is left and an older file stands unharmed.
    """
    write_together({path: data})


def write_together(files: Mapping[Path, bytes]) -> None:
    """Write several files, all of them or none. The folders must exist.

    Raises OSError as the system gives it; then every target is what it was before.
    """
    staged: dict[Path, Path] = {}
    replaced: dict[Path, bytes | None] = {}
    try:
        for path, data in files.items():
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


def _beside(path: Path) -> Path:
    """A free name in the target's own folder, so that moving it over the target is one step of the disk."""
    return path.with_name(f".{path.name}.{secrets.token_hex(4)}.part")


def _create(path: Path, data: bytes) -> None:
    # "x" never follows or overwrites what somebody else put there, and takes the user's usual permissions.
    with path.open("xb") as stream:
        stream.write(data)


def _put_back(path: Path, before: bytes | None) -> None:
    if before is None:
        path.unlink(missing_ok=True)
        return
    temporary = _beside(path)
    _create(temporary, before)
    temporary.replace(path)


# A zip whose bytes depend on nothing but what is in it.


#: The earliest date that a zip can hold: the same files give the same bytes on any day.
_DATE: Final = (1980, 1, 1, 0, 0, 0)
#: Regular file that its owner may write and everybody read, in the high half of a zip's attributes.
_RIGHTS: Final = 0o100644 << 16
_UNIX: Final = 3


def fixed_zip(files: Mapping[str, bytes]) -> bytes:
    """The files by their names, in the order given."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, mode="w", compression=zipfile.ZIP_DEFLATED, compresslevel=9) as packed:
        for name, data in files.items():
            entry = zipfile.ZipInfo(name, _DATE)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.create_system = _UNIX
            entry.external_attr = _RIGHTS
            packed.writestr(entry, data)
    return stream.getvalue()
