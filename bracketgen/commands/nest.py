"""Lay the parts of a job on sheets and offcuts.

A DXF and a PNG of each sheet, how much of it is used, and an estimate by the shop's own rates.
Every gap is checked on the true outlines. Exit code 1 where parts found no room.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from math import fsum
from pathlib import Path
from typing import Annotated

import typer

from bracketgen.bending.flat import Flat
from bracketgen.drawing.marks.lettering import letter_notes
from bracketgen.drawing.nest_sheet import nest_picture, nested_sheet
from bracketgen.errors import Fault, InputFaults, Place
from bracketgen.files.dxf import verified_dxf
from bracketgen.files.lint import Flaw
from bracketgen.files.png import png_bytes
from bracketgen.part.mark import mark_of, stamp
from bracketgen.pipeline import Made
from bracketgen.shop.nest import Nest, NestMethod, NestPart, Rates, Rolled, Spacing, StockSheet, estimate
from bracketgen.shop.nest import nest as lay
from bracketgen.shop.order import JobDocument, RatesTable, read_job_file
from bracketgen.terminal.exits import Exit
from bracketgen.terminal.finding_lines import note_lines
from bracketgen.terminal.jobs import job_parts, job_stem
from bracketgen.terminal.named_files import aside_lines, read_text, set_aside, write_files
from bracketgen.terminal.papers import stale_words
from bracketgen.terminal.parts import Outcome, PartRequest
from bracketgen.terminal.screen import Tone, say, toned, wrapped

JobFile = Annotated[str, typer.Argument(metavar="JOB", help="A job file with [[parts]] and [[sheets]].")]
Out = Annotated[Path, typer.Option("--out", metavar="FOLDER", help="Where the sheets' files go.")]
Seconds = Annotated[int, typer.Option("--seconds", min=1, max=600, help="For the packing library, a sheet.")]
ByBoxes = Annotated[bool, typer.Option("--boxes", help="Lay by boxes even where the packing library is there.")]


def nest(job: JobFile, out: Out = Path("out"), seconds: Seconds = 5, boxes: ByBoxes = False) -> None:
    document, parts = _read_job(job)
    spacing = _spacing(document, parts[0][0].job.part.stock.thickness_mm)
    pieces = [
        NestPart(m.job.part.name, m.flat.outline, m.flat.area_mm2, quantity, m.job.part.stock.grain_deg)
        for m, quantity in parts
    ]
    rolled = {"length": Rolled.LENGTH, "width": Rolled.WIDTH, "unknown": Rolled.UNKNOWN}
    plates = [StockSheet(s.name, *s.size, rolled[s.grain]) for s in document.sheets for _ in range(s.quantity)]
    method = NestMethod.BOXES if boxes else NestMethod.best()
    done = lay(pieces, plates, spacing, method, seconds)
    flats = {m.job.part.name: m.flat for m, _ in parts}
    stem = job_stem(job) or "job"
    files = _sheet_files(done, flats, stem)
    written = write_files(files, out) if files else ()
    # An earlier run may have needed more sheets.
    earlier = [p for ending in ("dxf", "png") for p in sorted(out.glob(f"{stem}-sheet-*.{ending}"))]
    numbered = [p.name for p in earlier if p.stem.removeprefix(f"{stem}-sheet-").isdecimal()]
    aside = set_aside(out, numbered, files)
    say(nest_lines(done, spacing, method, flats, document.rates))
    notes = note_lines(letter_notes(("sheet", filled.plate.name) for filled in done.filled))
    say([*notes, f"files: {', '.join(written)}"] if files else [])
    say([*aside_lines(aside), *(f"  stale: {text}" for made, _ in parts for text in stale_words(out, made))])
    raise typer.Exit(Exit.FAILED if done.left_over else Exit.CLEAN)


def _read_job(file: str) -> tuple[JobDocument, list[tuple[Made, int]]]:
    """The job, and its parts worked out with their quantities. Raises InputFaults with the faults of all of them."""
    source, job = read_job_file(read_text(file, "job file"), file)
    faults = [] if job.sheets else [Fault(Place(file), "there is no sheet to lay parts on", "add [[sheets]] with size")]
    parts: list[tuple[Made, int]] = []
    for one, quantity in job_parts(source, job):
        try:
            parts.append((_worked_out(one), quantity))
        except InputFaults as error:
            faults += error.faults
    faults += _unlike(file, [m for m, _ in parts])
    if faults:
        raise InputFaults(faults)
    return job, parts


def _unlike(file: str, made: list[Made]) -> list[Fault]:
    """Parts that can't be cut from one sheet on one machine: their rules were tried for that of each."""
    stocks = [m.job.part.stock for m in made]
    sheets = ", ".join(f"{metal} {mm:g} mm" for metal, mm in sorted({(s.metal.id, s.thickness_mm) for s in stocks}))
    ways = ", ".join(sorted({s.process.id for s in stocks}))
    told = [("of several stocks", sheets), ("cut by several processes", ways)]
    return [
        Fault(Place(file), f"the parts are {how}: {said}", "write a job file for each")
        for how, said in told
        if "," in said
    ]


def _worked_out(one: PartRequest | Outcome) -> Made:
    """Raises InputFaults, for a part that failed a rule too: no sheet is cut with it."""
    if isinstance(one, Outcome):
        raise InputFaults(one.faults)
    made = one.work_out()
    if made.failed:
        raise InputFaults([Fault(Place(one.file), f"{one.name} fails a rule", "see it with bracketgen check")])
    return made


def _spacing(job: JobDocument, thickness_mm: float) -> Spacing:
    """The job's gap and margin. Left out: the thickness and at least 5 mm; the gap and at least 10 mm.

    Both are common practice, no source.
    """
    given = job.nesting
    gap = max(5.0, thickness_mm) if given.gap is None else given.gap
    return Spacing(gap, max(10.0, gap) if given.margin is None else given.margin)


def _sheet_files(done: Nest, flats: Mapping[str, Flat], stem: str) -> dict[str, bytes]:
    """Cut file and picture of every sheet by name."""
    cuts = {name: (flat.outline, tuple(flat.cuts())) for name, flat in flats.items()}
    # A sheet holds several outlines beside each other, and is as large as a sheet.
    many = frozenset((Flaw.OUTSIDE_OUTLINE, Flaw.NESTED, Flaw.SIZE))
    files: dict[str, bytes] = {}
    for number, filled in enumerate(done.filled, start=1):
        name = f"{stem}-sheet-{number}"
        mark = mark_of(sorted(flats[one.piece.name].part.mark for one in filled.lying))
        files[f"{name}.dxf"] = verified_dxf(nested_sheet(filled, cuts, name, mark), many)
        title = f"{name}: {filled.plate.name}, {filled.plate.length_mm:g} x {filled.plate.width_mm:g} mm, mark {mark}"
        files[f"{name}.png"] = png_bytes(nest_picture(filled, cuts, title), stamp=stamp(mark))
    return files


# How full the sheets are, what found no room, and what it may cost.


def nest_lines(
    done: Nest, spacing: Spacing, method: NestMethod, flats: Mapping[str, Flat], rates: RatesTable | None
) -> list[str]:
    """One line a sheet, then the rest."""
    plain = "by boxes (the extra 'nest' lays closer, by outlines)"
    how = "by outlines where that holds more than boxes" if method is NestMethod.OUTLINES else plain
    lines = [f"gap {spacing.gap_mm:g} mm, to the edge {spacing.margin_mm:g} mm, laid {how}"]
    for number, sheet in enumerate(done.filled, start=1):
        plate = sheet.plate
        count = Counter(one.piece.name for one in sheet.lying)
        held = ", ".join(f"{n} x {name}" for name, n in sorted(count.items()))
        size = f"{plate.length_mm:g} x {plate.width_mm:g} mm"
        lines += wrapped(f"{plate.name}, {size}, {100 * sheet.used:.1f} % used: {held}", f"  {number}. ")
    for name, left in sorted(done.left_over.items()):
        lines += wrapped(
            f"{left} x {name}: no sheet has room, or none is rolled as the part needs it",
            f"  {toned('NO ROOM', Tone.BAD)} ",
        )
    return [*lines, *(_cost_lines(done, flats, rates) if rates is not None and done.filled else ())]


def _cost_lines(done: Nest, flats: Mapping[str, Flat], rates: RatesTable) -> list[str]:
    cut = fsum(flats[one.piece.name].cut_length_mm for one in done.lying())
    pierces = sum(flats[one.piece.name].pierces for one in done.lying())
    stock = next(iter(flats.values())).part.stock
    area = fsum(sheet.plate.area_mm2 for sheet in done.filled)
    kg = area * stock.thickness_mm * stock.metal.density_kg_m3 * 1e-9
    own = Rates(rates.cut_mm_per_min, rates.pierce_s, rates.machine_per_hour, rates.metal_per_kg, rates.setup)
    told = estimate(cut, pierces, kg, own)
    money = f" {rates.currency}" if rates.currency else ""
    lines = [
        f"ESTIMATE by the job's own rates: cutting {told.cutting_s / 60:.1f} min ({cut / 1000:.2f} m, {pierces} "
        f"pierces); machine {told.machine:.2f}, metal {told.metal:.2f} ({kg:.1f} kg, whole sheets), setup "
        f"{told.setup:.2f}, in all {told.total:.2f}{money}",
        "Not in it: moves between cuts, loading, slow corners, deburring, bending, finish. No quotation.",
    ]
    return [row for text in lines for row in wrapped(text, "  ")]
