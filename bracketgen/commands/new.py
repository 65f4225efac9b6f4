"""Write a starter to change.

A commented description that can be made as it is. An existing file is never overwritten.
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Final

import typer

from bracketgen.errors import Fault, Place
from bracketgen.terminal.exits import stop
from bracketgen.terminal.named_files import write_one
from bracketgen.terminal.screen import say
from bracketgen.units import meant

_FOLDER: Final = Path(__file__).with_name("starters")


def kinds() -> tuple[str, ...]:
    """The kinds of starters, by name."""
    return tuple(sorted(path.stem for path in _FOLDER.glob("*.toml")))


Kind = Annotated[str, typer.Argument(metavar="KIND", help=f"One of: {', '.join(kinds())}.")]
File = Annotated[Path, typer.Argument(metavar="FILE", help="The description to write, such as mount.toml.")]


def new(kind: Kind, file: File) -> None:
    target = file.with_suffix(".toml") if file.name and not file.suffix else file
    faults = []
    if kind not in kinds():
        cure = meant(kind, kinds(), f"there are: {', '.join(kinds())}", "")
        faults.append(Fault(Place("new"), f"there is no starter {kind!r}", cure))
    here = Place(str(target))
    if not target.name:
        faults.append(Fault(Place("new"), "the file has no name", "name one, such as mount.toml"))
    elif target.exists():
        faults.append(Fault(here, "it is there already and stays as it is", "name another file, or move it away"))
    elif not target.parent.is_dir():
        faults.append(Fault(here, f"there is no folder {target.parent}", "make it first, or name another"))
    if faults:
        stop(faults)
    write_one(target, (_FOLDER / f"{kind}.toml").read_bytes())
    say([f"written: {target}", f"change it, then: bracketgen make {target}"])
