"""Write a starter to change.

A commented description that can be made as it is. An existing file is never overwritten.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

if TYPE_CHECKING:
    from bracketgen.errors import Fault

_FOLDER: Final = Path(__file__).with_name("starters")


def kinds() -> tuple[str, ...]:
    """The kinds of starters, by name."""
    return tuple(sorted(path.stem for path in _FOLDER.glob("*.toml")))


Kind = Annotated[str, typer.Argument(metavar="KIND", help=f"One of: {', '.join(kinds())}.")]
File = Annotated[Path, typer.Argument(metavar="FILE", help="The description to write, such as mount.toml.")]


def new(kind: Kind, file: File) -> None:
    from bracketgen.errors import Fault, Place
    from bracketgen.files.disk import write_whole
    from bracketgen.terminal.screen import say
    from bracketgen.terminal.summary import stop

    wrong = _kind_fault(kind)
    target = file.with_suffix(".toml") if file.name and not file.suffix else file
    faults = [fault for fault in (wrong, _target_fault(target)) if fault]
    if faults:
        stop(faults)
    try:
        write_whole(target, (_FOLDER / f"{kind}.toml").read_bytes())
    except OSError as error:
        stop([Fault(Place(str(target)), f"it can't be written: {error.strerror or error}", "name another file")])
    say([f"written: {target}", f"change it, then: bracketgen make {target}"])


def _kind_fault(kind: str) -> Fault | None:
    from bracketgen.errors import Fault, Place
    from bracketgen.units import nearest_word

    if kind in kinds():
        return None
    near = nearest_word(kind, kinds())
    cure = (f"did you mean {near}? " if near else "") + f"there are: {', '.join(kinds())}"
    return Fault(Place("new"), f"there is no starter {kind!r}", cure)


def _target_fault(target: Path) -> Fault | None:
    from bracketgen.errors import Fault, Place

    if not target.name:
        return Fault(Place("new"), "the file has no name", "name one, such as mount.toml")
    if target.exists():
        return Fault(Place(str(target)), "it is there already and stays as it is", "name another file, or move it away")
    if not target.parent.is_dir():
        return Fault(Place(str(target)), f"there is no folder {target.parent}", "make it first, or name another")
    return None
