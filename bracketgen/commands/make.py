"""Make cut file, picture and report.

DXF, PNG and JSON of each description; where it names a site, also NAME-site.png and NAME-site.glb, picture and
3D model of the part in its place (kind: site).

With --only, also the folded part alone, as if cut and bent without error: step, exact, for other programs; stl and
3mf, in mm from zero upward, to print a mock-up; glb, to look at. The last three are facets within 0.02 mm of the
true surface. A print is for trying the fit: it carries no load and stands no heat.

Exit code: 0 all clean, 1 a rule failed, 2 an input is wrong, 3 internal error; of several parts the highest.
A part that failed gets no files, and files that an earlier run left of it are renamed OLD-...
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

from bracketgen.terminal.options import Brief, Files, Settings, Strict, Table

if TYPE_CHECKING:
    from bracketgen.pipeline import Made, Outputs
    from bracketgen.terminal.parts import Outcome, Task

Out = Annotated[Path, typer.Option("--out", metavar="FOLDER", help="Where the files go; made if it is not there.")]
Only = Annotated[
    str,
    typer.Option(
        "--only",
        metavar="KINDS",
        help="Which files, with commas between them: dxf, png, json, site, step, stl, 3mf, glb.",
    ),
]
EvenIfFailed = Annotated[
    bool,
    typer.Option(
        "--even-if-failed", help="Write the files of a part that failed a rule too, named FAILED-..., to look at."
    ),
]

_USUAL: Final = "dxf,png,json,site"


@dataclass(frozen=True, slots=True)
class Wish:
    """What is to be written, and where."""

    folder: Path
    outputs: Outputs
    strict: bool
    even_if_failed: bool


def make(
    files: Files,
    out: Out = Path("out"),
    set_: Settings = None,
    table: Table = None,
    only: Only = _USUAL,
    strict: Strict = False,
    even_if_failed: EvenIfFailed = False,
    brief: Brief = False,
) -> None:
    from bracketgen.terminal.parts import Request, gather, run_batch

    wish = Wish(out, _outputs(only), strict, even_if_failed)
    parts = gather(Request(tuple(files), tuple(set_ or ()), table))
    work, tell = partial(make_one, wish=wish), partial(_tell, folder=out, brief=brief or table is not None)
    code = run_batch(parts, work, tell, shared=True)
    raise typer.Exit(code)


def make_one(task: Task, wish: Wish) -> Outcome:
    """One part worked out and, unless it failed, written. Raises InputFaults, WriteFault."""
    from bracketgen.errors import Fault, InputFaults, Place
    from bracketgen.pipeline import write
    from bracketgen.terminal.parts import Outcome

    made = task.work_out()
    made = made.strict() if wish.strict else made
    if made.failed and not wish.even_if_failed:
        return Outcome(task.name, made)
    files = _files(task, made, wish.outputs)
    if not files:
        fault = Fault(
            Place(task.file), "--only site: the description names no site", "see `bracketgen show keys`, [site]"
        )
        raise InputFaults([fault])
    with _folder_faults(wish.folder):
        write(files, wish.folder)
    return Outcome(task.name, made, written=tuple(str(wish.folder / name) for name in files))


def _files(task: Task, made: Made, outputs: Outputs) -> dict[str, bytes]:
    """The part's files. What only a waiver let come so far is the description's fault, not ours."""
    from bracketgen.errors import Fault, InputFaults, Place, WriteFault
    from bracketgen.findings import Level
    from bracketgen.pipeline import files_of

    try:
        with model_faults(task, ", or leave step, stl, 3mf and glb out of --only"):
            return files_of(made, outputs)
    except WriteFault as error:
        if made.failed or not any(f.level is Level.FAIL for f in made.findings):
            raise
        what = f"no machine can cut this, waived or not: {' '.join(str(error).split())}"
        cure = "take the waiver out and follow its rule"
        raise InputFaults([Fault(Place(task.file), what, cure)]) from None


@contextmanager
def model_faults(task: Task, way_round: str = "") -> Iterator[None]:
    """A part that is no solid has no model; its description is at fault. `way_round` is told beside the cure."""
    from bracketgen.errors import Fault, GeometryFault, InputFaults, Place

    try:
        yield
    except GeometryFault as error:
        what = f"there is no 3D model of this part: {error}"
        raise InputFaults([Fault(Place(task.file), what, error.cure + way_round)]) from None


def _tell(outcome: Outcome, folder: Path, brief: bool) -> None:
    """Tells how a part went, after what an earlier run left of it was set aside."""
    from bracketgen.terminal.summary import tell_brief, tell_in_full

    (tell_brief if brief else tell_in_full)(_with_set_aside(outcome, folder))


def _with_set_aside(outcome: Outcome, folder: Path) -> Outcome:
    from bracketgen.errors import InputFaults
    from bracketgen.terminal.old_files import set_aside

    fresh = {Path(path).name for path in outcome.written}
    try:
        with _folder_faults(folder):
            moved = [path for name in outcome.names for path in set_aside(folder, name, fresh)]
    except InputFaults as error:
        return replace(outcome, faults=(*outcome.faults, *error.faults))
    return replace(outcome, set_aside=tuple(moved))


@contextmanager
def _folder_faults(folder: Path) -> Iterator[None]:
    """What the disk refuses is a fault of the folder that was named."""
    from bracketgen.errors import Fault, InputFaults, Place

    try:
        yield
    except OSError as error:
        what = f"it can't be written to: {error.strerror or error}"
        if folder.is_file():
            what = "this is a file, and files can't be put into it"
        raise InputFaults([Fault(Place(str(folder)), what, "name another folder with --out")]) from None


def _outputs(only: str) -> Outputs:
    from bracketgen.errors import Fault, Place
    from bracketgen.pipeline import Outputs
    from bracketgen.terminal.summary import stop
    from bracketgen.units import nearest_word

    known = {kind.word: kind for kind in Outputs}
    words = [word.strip().lower() for word in only.split(",")]
    faults = []
    for word in dict.fromkeys(words):
        if word not in known:
            near = nearest_word(word, known)
            cure = (f"did you mean {near}? " if near else "") + f"write one or more of {', '.join(known)}"
            faults.append(Fault(Place("--only"), f"{word!r} is no kind of file here", cure))
    if faults:
        stop(faults)
    wanted = Outputs(0)
    for word in words:
        wanted |= known[word]
    return wanted
