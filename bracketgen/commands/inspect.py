"""Look through DXF files from anyone.

Open contours, gaps, doubles, splines, wrong units and all else that spoils a part or gets a file refused, each
with its place and cure, and a picture NAME-inspect.png. With --mend also NAME-mended.dxf: what can be mended
safely is, and how far any line moved is told; the rest is left and said.

Exit code: 0 fit to cut, 1 a fault was found (with --mend: is left), 2 an input is wrong, 3 internal error.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import Annotated, Final

import typer

from bracketgen.description.family import part_name
from bracketgen.drawing.marks.lettering import letter_notes
from bracketgen.drawing.picture.inspect_view import inspect_view
from bracketgen.errors import Fault, InputFaults, Place
from bracketgen.files.inspecting.drawing import UNITS, version_of
from bracketgen.files.inspecting.inspection import Group, Inspection, Limits, grouped, inspect_bytes, linework
from bracketgen.files.inspecting.mend import Mended
from bracketgen.files.inspecting.mend import mend as mend_drawing
from bracketgen.files.png import png_bytes
from bracketgen.findings import Level
from bracketgen.standards.machines import process as process_row
from bracketgen.terminal.exits import Exit, exit_of
from bracketgen.terminal.finding_lines import note_lines
from bracketgen.terminal.named_files import file_fault, read_bytes, write_files
from bracketgen.terminal.options import OptionReader, Out, Strict
from bracketgen.terminal.screen import Tone, say, toned, wrapped

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

#: $INSUNITS numbers of the units that a person can state; DXF Reference.
_UNITS = {"mm": 4, "cm": 5, "m": 6, "in": 1, "inch": 1, "ft": 2}
#: A gap wider than this is no slip of the pen (own choice).
_WIDEST_MM = 1.0


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
    reader = OptionReader()
    gap_mm = _length(reader, "--gap", gap, _WIDEST_MM)
    stray_mm = _length(reader, "--deviation", deviation, _WIDEST_MM)
    number = None if unit is None else reader.word("--unit", unit, _UNITS)
    if (process is None) != (thickness is None):
        reader.fault("--process", "process and thickness belong together", "give both: --process laser -t '4 mm'")
    cutting = None if process is None else reader.attempt("--process", lambda: process_row(process))
    thick = None if thickness is None else _length(reader, "--thickness", thickness, 150.0)
    reader.stop_if_any()
    assert gap_mm is not None and stray_mm is not None
    _check_names(files, out)
    limits = Limits(gap_mm, number, cutting, thick)
    work = partial(_inspect_one, limits=limits, folder=out, stray_mm=stray_mm if mend else None, strict=strict)
    worst = max(exit_of(partial(work, file), file) for file in files)
    say(wrapped(CAUTION))
    raise typer.Exit(worst)


def _length(reader: OptionReader, option: str, text: str, most: float) -> float | None:
    mm = reader.attempt(option, lambda: reader.length(text))
    if mm is not None and not 0.0 < mm <= most:
        reader.fault(option, f"{text!r} is out of range", f"give more than 0 and up to {most:g} mm")
        return None
    return None if mm is None else float(mm)


def _check_names(files: list[str], out: Path) -> None:
    """No file that is written may take the place of one that is read, or of another. Raises InputFaults."""
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
    return part_name(Path(file).stem) or "drawing"


def _inspect_one(file: str, limits: Limits, folder: Path, stray_mm: float | None, strict: bool) -> Exit:
    """One file told and written; mended too where a new line may stray `stray_mm`. Raises InputFaults."""
    found = inspect_bytes(read_drawing(file), limits)
    if found.unreadable:
        raise InputFaults([Fault(Place(file, f.line, 1 if f.line else 0), f.what, f.cure) for f in found.findings])
    groups, name = grouped(found.findings), _name(file)
    sheet = inspect_view(Path(file).name, read_words(found), linework(found), [group.for_sheet for group in groups])
    files = {f"{name}-inspect.png": png_bytes(sheet)}
    lines = [*wrapped(toned(file, Tone.STRONG)), *inspection_lines(found, groups)]
    new = None if stray_mm is None else mend_drawing(found, limits, stray_mm)
    if stray_mm is not None:
        lines += mended_lines(new, found)
    if new is not None:
        files[f"{name}-mended.dxf"] = new.data
    written = write_files(files, folder)
    lines += note_lines(letter_notes(("picture", label.text) for label in sheet.labels))
    say([*lines, *wrapped(", ".join(written), "  files       "), ""])
    last, failed = (found, found.failed) if new is None else (new.after, new.failed)
    warned = strict and any(f.level is Level.WARN for f in last.findings)
    return Exit.FAILED if failed or warned else Exit.CLEAN


# Reading the DXF files that a person names, with one clear fault for each that can't be read.


#: A part's drawing is never near this (own choice).
_LARGEST_BYTES: Final = 100_000_000
_TEXT_CURE: Final = "save it as DXF in text form (ASCII), version R12 to R2018, in the program that it came from"
#: How other files begin that are taken for DXF, and what they are.
_OTHERS: Final = (
    (b"AC10", "this is a drawing in a program's own binary form, not DXF"),
    (b"%PDF", "this is a PDF"),
    (b"\x89PNG", "this is a picture"),
    (b"\xff\xd8", "this is a picture"),
    (b"PK\x03\x04", "this is a packed folder"),
    (b"<svg", "this is an SVG picture"),
    (b"<?xml", "this is an XML file"),
    (b"ISO-10303-21", "this is a STEP model"),
)


def read_drawing(file: str) -> bytes:
    """The bytes of a DXF text file. Raises InputFaults."""
    data = read_bytes(file, "drawing", ".dxf", _LARGEST_BYTES)
    # DXF Reference, binary files: 18 letters, then this.
    if data[18:22] == b"\r\n\x1a\0":
        raise file_fault(file, "this is DXF in binary form", _TEXT_CURE)
    for begins, what in _OTHERS:
        if data.lstrip().startswith(begins):
            raise file_fault(file, what, _TEXT_CURE)
    return data


# What was found in a drawing from anyone, and what was mended, in words.


_TONES: Final = {Level.FAIL: Tone.BAD, Level.WARN: Tone.WARN, Level.NOTE: Tone.STRONG}
#: So many places of one kind are printed.
_MOST_PLACES: Final = 12

CAUTION: Final = (
    "An inspection reads lines, not intentions: hold sizes and holes against the part before metal is cut. "
    "The shop that cuts it has the last word."
)


def read_words(inspection: Inspection) -> str:
    """What the file was read as, in one line."""
    if inspection.drawing is None or inspection.outlines is None:
        return "not readable"
    contours = len(inspection.outlines.chains.contours)
    unit = UNITS[inspection.drawing.unit][0]
    said = [
        f"DXF {version_of(inspection.drawing.file)} in {unit}",
        f"{contours} closed contour{'' if contours == 1 else 's'}",
    ]
    if not inspection.outlines.chains.broken:
        said.append(f"area {inspection.area_mm2:.1f} mm²")
    return ", ".join(said)


def inspection_lines(inspection: Inspection, groups: Sequence[Group]) -> list[str]:
    """What was read, and every kind of finding with its places and its cure."""
    lines = [f"  read as     {read_words(inspection)}"]
    box = inspection.box
    if box is not None:
        lines.append(f"  size        {box[2] - box[0]:.3f} x {box[3] - box[1]:.3f} mm")
        lines += wrapped(_layers(inspection), "  layers      ")
    if not groups:
        return [*lines, "  findings    none"]
    lines.append("  findings    numbered as on the picture; places in mm")
    for group in groups:
        lines += group_lines(group)
    return lines


def _layers(inspection: Inspection) -> str:
    cut = ", ".join(inspection.cut_layers) or "none"
    others = ", ".join(inspection.other_layers)
    return f"cut: {cut}" + (f"; taken as not cut: {others}" if others else "")


def group_lines(group: Group) -> list[str]:
    """One kind of finding."""
    first = group.first
    word = toned(first.level.value.upper(), _TONES[first.level])
    whats = list(dict.fromkeys(f.what for f in group.members))
    said = "; ".join(whats[:3]) + (f"; and {len(whats) - 3} more such" if len(whats) > 3 else "")
    times = f" ({len(group.members)} x)" if len(group.members) > 1 else ""
    lines = wrapped(f"{first.code.value}: {said}{times}", f"  {group.number:>3} {word}  ", " " * 12)
    places = [f"({x:.3f}, {y:.3f})" for x, y in group.places[:_MOST_PLACES]]
    if places:
        more = len(group.places) - len(places)
        lines += wrapped(f"at {', '.join(places)}" + (f" and {more} more" if more > 0 else ""), " " * 12)
    numbers = [str(f.line) for f in group.members if f.line][:_MOST_PLACES]
    if numbers and not places:
        lines += wrapped(f"in line {', '.join(numbers)} of the file", " " * 12)
    return lines + wrapped(first.cure, " " * 12)


def mended_lines(mended: Mended | None, before: Inspection) -> list[str]:
    """What was done, what was left, how far the new file strays, and what it still has."""
    if mended is None:
        return ["  mended      nothing: there is no line in it that can be read"]
    lines = ["  mended" if mended.done else "  mended      nothing to do: a clean copy was written"]
    for repair in mended.done:
        lines += wrapped(str(repair), "    done  ", " " * 10)
    for repair in mended.left:
        lines += wrapped(str(repair), "    left  ", " " * 10)
    area, now = before.area_mm2, mended.after.area_mm2
    lines += wrapped(
        f"no line moved farther than {mended.deviation_mm:.4f} mm; area within closed contours before {area:.2f}, "
        f"now {now:.2f} mm²",
        "    off   ",
        " " * 10,
    )
    still = [f"{f.code.value}" for f in mended.after.findings]
    kinds = ", ".join(dict.fromkeys(still)) or "nothing: the new file is clean"
    return [*lines, *wrapped(f"its own inspection still finds {kinds}", "    new   ", " " * 10)]
