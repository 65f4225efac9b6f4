"""Files and folders that a person names: read, written and set aside, with one clear fault for each that can't be."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Final

from bracketgen.description.family import part_name
from bracketgen.errors import Fault, InputFaults, Place
from bracketgen.files.disk import write_together, write_whole
from bracketgen.units import nearest_word

if TYPE_CHECKING:
    from bracketgen.vehicle.site import Site


#: A description is never near this; a file named by mistake often is.
_LARGEST_BYTES: Final = 2_000_000


def read_bytes(file: str, what: str, ending: str, most_bytes: int) -> bytes:
    """What is in a file, `what` it should be in a word ('description'), named as a rule with `ending`.

    Raises InputFaults.
    """
    path = Path(file)
    try:
        if path.is_dir():
            raise file_fault(file, "this is a folder", f"name the {what}s in it, such as {path / f'*{ending}'}")
        if not path.exists():
            raise file_fault(file, "there is no such file", _near(path))
        if path.stat().st_size > most_bytes:
            raise file_fault(file, f"at {path.stat().st_size} bytes this is no {what}", f"name a {what}")
        return path.read_bytes()
    except (OSError, ValueError) as error:
        why = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise file_fault(file, f"it can't be read: {why}", "check the name and the right to read it") from None


def read_text(file: str, what: str) -> str:
    """The text of a file, `what` it should be in a word ('description'). Raises InputFaults."""
    return _decoded(file, read_bytes(file, what, ".toml", _LARGEST_BYTES), what)


def is_file(file: str) -> bool:
    """Whether a name is that of a file; a name that no file can have is not."""
    try:
        return Path(file).is_file()
    except (OSError, ValueError):
        return False


def _decoded(file: str, data: bytes, what: str) -> str:
    if b"\0" in data:
        raise file_fault(file, f"this is no text, so no {what}", "save it as UTF-8 text, or name another file")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = data[: error.start]
        line = before.count(b"\n") + 1
        column = len(before.rsplit(b"\n", 1)[-1].decode("utf-8", "replace")) + 1
        place = Place(file, line, column)
        raise InputFaults([Fault(place, "this letter is not UTF-8", "save the file as UTF-8 in your editor")]) from None


def file_fault(file: str, what: str, cure: str) -> InputFaults:
    """The one fault of a whole file, to be raised."""
    return InputFaults([Fault(Place(file), what, cure)])


def _near(path: Path) -> str:
    """The likeliest file beside a wrong name."""
    if not path.parent.is_dir():
        return f"there is no folder {path.parent} either"
    names = sorted(p.name for p in path.parent.iterdir() if p.is_file() and p.suffix == path.suffix)
    near = nearest_word(path.name, names[:500])
    return f"did you mean {path.parent / near}?" if near else "check the name and the folder"


def site_from(file: str, settings: Sequence[str] | None = None) -> Site:
    """The site in a file, with parameters set as typed (`name=value`). Raises InputFaults."""
    # Other files are read without the library that holds documents against their models.
    from bracketgen.description.parameters import read_settings, settable
    from bracketgen.vehicle.site import read_site

    values, faults = read_settings(list(settings or ()))
    if faults:
        raise InputFaults(faults)
    text = read_text(file, "site")
    can = settable(text, file)
    typed = {key: can.with_unit(key, value) for key, value in values.items()}
    return read_site(text, file, part_name(Path(file).stem.removesuffix(".site")) or "site", typed)


# -- the folder where a run's files go

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
