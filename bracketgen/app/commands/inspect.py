"""Look through DXF files from anyone.

Open contours, gaps, doubles, splines, wrong units and all else that spoils a part or gets a file refused, each
with its place and cure, and a picture NAME-inspect.png. With --mend also NAME-mended.dxf: what can be mended
safely is, and how far any line moved is told; the rest is left and said.

Exit code: 0 fit to cut, 1 a fault was found (with --mend: is left), 2 an input is wrong, 3 internal error.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from bracketgen.app.asking.option_reader import OptionReader
    from bracketgen.app.outcome import Exit
    from bracketgen.standards.machines import Process
    from bracketgen.writers.inspecting.inspection import Inspection, Limits
    from bracketgen.writers.inspecting.mend import Mended

Drawings = Annotated[list[str], typer.Argument(metavar="FILE.dxf...", help="Drawings (.dxf) from anyone.")]
ProcessWord = Annotated[
    str | None, typer.Option("--process", metavar="NAME", help="Hold holes, slots and webs against it: laser, plasma.")
]
Thickness = Annotated[
    str | None, typer.Option("--thickness", "-t", metavar="LENGTH", help="With --process, such as '4 mm'.")
]
UnitWord = Annotated[
    str | None,
    typer.Option("--unit", metavar="UNIT", help="What its numbers are, whatever it says: mm, cm, m, in, ft."),
]
Mend = Annotated[bool, typer.Option("--mend", help="Write NAME-mended.dxf; the original is never touched.")]
Gap = Annotated[str, typer.Option("--gap", metavar="LENGTH", help="Widest gap that is joined, up to 1 mm.")]
Deviation = Annotated[
    str,
    typer.Option("--deviation", metavar="LENGTH", help="How far an arc may stray from the short lines it replaces."),
]
Out = Annotated[Path, typer.Option("--out", metavar="FOLDER", help="Where the files go; made if it is not there.")]
Strict = Annotated[bool, typer.Option("--strict", help="Count warnings as failures.")]

#: $INSUNITS numbers of the units that a person can state; DXF Reference.
_UNITS = {"mm": 4, "cm": 5, "m": 6, "in": 1, "inch": 1, "ft": 2}
#: A gap wider than this is no slip of the pen (own choice).
_WIDEST_MM = 1.0


@dataclass(frozen=True, slots=True)
class InspectOptions:
    """What is asked for."""

    limits: Limits
    folder: Path
    mend: bool
    most_mm: float
    strict: bool


def inspect(
    files: Drawings,
    process: ProcessWord = None,
    thickness: Thickness = None,
    unit: UnitWord = None,
    mend: Mend = False,
    gap: Gap = "0.05 mm",
    deviation: Deviation = "0.1 mm",
    out: Out = Path("out"),
    strict: Strict = False,
) -> None:
    from bracketgen.app.outcome import Exit
    from bracketgen.app.telling.inspect_lines import CAUTION
    from bracketgen.app.telling.outcomes import stop
    from bracketgen.app.telling.speech import say, wrapped
    from bracketgen.errors import InputFaults

    try:
        request = _request((process, thickness, unit, gap, deviation), out, mend, strict)
        _check_names(files, out)
    except InputFaults as error:
        stop(error.faults)
    worst = Exit.CLEAN
    for file in files:
        worst = max(worst, _one(file, request))
    say(wrapped(CAUTION))
    raise typer.Exit(worst)


def _request(
    typed: tuple[str | None, str | None, str | None, str, str], out: Path, mend: bool, strict: bool
) -> InspectOptions:
    """What was typed, with every fault of it told at once. Raises InputFaults."""
    from bracketgen.app.asking.option_reader import OptionReader
    from bracketgen.writers.inspecting.inspection import Limits

    process, thickness, unit, gap, deviation = typed
    reader = OptionReader()
    gap_mm = _length(reader, "--gap", gap, _WIDEST_MM)
    most_mm = _length(reader, "--deviation", deviation, _WIDEST_MM)
    number = None if unit is None else reader.word("--unit", unit, _UNITS)
    cutting, thick = _cutting(reader, process, thickness)
    reader.stop_if_any()
    assert gap_mm is not None and most_mm is not None
    return InspectOptions(Limits(gap_mm, number, cutting, thick), out, mend, most_mm, strict)


def _length(reader: OptionReader, option: str, text: str, most: float) -> float | None:
    mm = reader.attempt(option, lambda: reader.length(text))
    if mm is not None and not 0.0 < mm <= most:
        reader.fault(option, f"{text!r} is out of range", f"give more than 0 and up to {most:g} mm")
        return None
    return None if mm is None else float(mm)


def _cutting(reader: OptionReader, process: str | None, thickness: str | None) -> tuple[Process | None, float | None]:
    from bracketgen.standards.machines import process as process_row

    if (process is None) != (thickness is None):
        reader.fault("--process", "process and thickness belong together", "give both: --process laser -t '4 mm'")
    found = None if process is None else reader.attempt("--process", lambda: process_row(process))
    thick = None if thickness is None else _length(reader, "--thickness", thickness, 150.0)
    return found, thick


def _check_names(files: list[str], out: Path) -> None:
    """No file that is written may take the place of one that is read, or of another. Raises InputFaults."""
    from bracketgen.errors import Fault, InputFaults, Place

    faults: list[Fault] = []
    inputs = {Path(file).resolve() for file in files}
    seen: dict[str, str] = {}
    for file in dict.fromkeys(files):
        name = _name(file)
        if name in seen:
            faults.append(Fault(Place(file), f"what is written of it would replace that of {seen[name]}", "rename one"))
        seen[name] = file
        for ending in ("-inspect.png", "-mended.dxf"):
            if (out / f"{name}{ending}").resolve() in inputs:
                faults.append(Fault(Place(file), f"{name}{ending} is itself named here", "use another --out"))
    if faults:
        raise InputFaults(faults)


def _name(file: str) -> str:
    from bracketgen.description.part_name import part_name

    return part_name(Path(file).stem) or "drawing"


def _one(file: str, request: InspectOptions) -> Exit:
    """One file told and written; its exit code."""
    import sys

    from bracketgen.app.batch import internal_line
    from bracketgen.app.outcome import Exit
    from bracketgen.app.telling.speech import say, say_faults
    from bracketgen.errors import InputFaults

    try:
        return _work(file, request)
    except InputFaults as error:
        say_faults(error.faults)
        return Exit.INPUT
    except Exception as error:  # whatever it is, the other files go on and the person gets one line
        say(internal_line(error, file), sys.stderr)
        return Exit.INTERNAL


def _work(file: str, request: InspectOptions) -> Exit:
    from bracketgen.app.asking.drawing_file import read_drawing
    from bracketgen.app.telling.finding_lines import note_lines
    from bracketgen.app.telling.inspect_lines import inspection_lines, mended_lines, read_words
    from bracketgen.app.telling.speech import Tone, say, toned, wrapped
    from bracketgen.drawing.inspect_view import inspect_view
    from bracketgen.drawing.paper.lettering import letter_notes
    from bracketgen.errors import Fault, InputFaults, Place
    from bracketgen.writers.inspecting.inspection import grouped, inspect_bytes, linework
    from bracketgen.writers.inspecting.mend import mend
    from bracketgen.writers.png import png_bytes

    found = inspect_bytes(read_drawing(file), request.limits)
    if found.unreadable:
        raise InputFaults([Fault(Place(file, f.line, 1 if f.line else 0), f.what, f.cure) for f in found.findings])
    groups, name = grouped(found.findings), _name(file)
    sheet = inspect_view(Path(file).name, read_words(found), linework(found), [group.for_sheet for group in groups])
    files = {f"{name}-inspect.png": png_bytes(sheet)}
    lines = [*wrapped(toned(file, Tone.STRONG)), *inspection_lines(found, groups)]
    new = mend(found, request.limits, request.most_mm) if request.mend else None
    if request.mend:
        lines += mended_lines(new, found)
    if new is not None:
        files[f"{name}-mended.dxf"] = new.data
    _write(files, request.folder)
    lines += note_lines(letter_notes(("picture", label.text) for label in sheet.labels))
    say([*lines, *wrapped(", ".join(str(request.folder / n) for n in files), "  files       "), ""])
    return _exit(found, new, request)


def _exit(found: Inspection, new: Mended | None, request: InspectOptions) -> Exit:
    from bracketgen.app.outcome import Exit
    from bracketgen.findings import Level

    last = found if new is None else new.after
    failed = found.failed if new is None else new.failed
    warned = request.strict and any(f.level is Level.WARN for f in last.findings)
    return Exit.FAILED if failed or warned else Exit.CLEAN


def _write(files: dict[str, bytes], folder: Path) -> None:
    """All files of a drawing or none. Raises InputFaults where the folder can't be written to."""
    from bracketgen.errors import Fault, InputFaults, Place
    from bracketgen.pipeline import write

    try:
        write(files, folder)
    except OSError as error:
        what = f"it can't be written to: {error.strerror or error}"
        raise InputFaults([Fault(Place(str(folder)), what, "name another folder with --out")]) from None
