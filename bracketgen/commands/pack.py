"""Make the hand-over pack for the cutting shop.

Each part's cut file (and two more for readers that refuse it), folded model (STEP), picture, report; one order
sheet, and a list with checksums. A part that failed a rule stays out, and the sheet says so.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from bracketgen.pipeline import Made
    from bracketgen.shop.order import Bender, OrderLine
    from bracketgen.terminal.parts import Exit, Outcome, Task

Files = Annotated[list[str], typer.Argument(metavar="FILES", help="Descriptions, or one job file that lists them.")]
Quantity = Annotated[int, typer.Option("--quantity", min=1, max=3000, help="Of each description; a job has its own.")]
Out = Annotated[Path, typer.Option("--out", metavar="FOLDER", help="Where the pack's folder goes.")]
Zip = Annotated[bool, typer.Option("--zip", help="Write one zip too, for the mail.")]
ShopBends = Annotated[bool, typer.Option("--shop-bends", help="The cutting shop bends too; a job says it itself.")]
#: Cut files for readers that refuse the usual one lie apart, so that nobody cuts a part three times.
IF_REFUSED = "if-refused"


@dataclass(slots=True)
class Packing:
    """The order as it is worked out: what goes into the pack, and what stays out with the reason."""

    title: str
    name: str
    bender: Bender
    finish: str = ""
    lines: list[OrderLine] = field(default_factory=list)
    files: dict[str, bytes] = field(default_factory=dict)
    cut_files: dict[str, list[str]] = field(default_factory=dict)
    left_out: list[str] = field(default_factory=list)


def pack(
    files: Files,
    quantity: Quantity = 1,
    out: Out = Path("out"),
    zip_: Zip = False,
    shop_bends: ShopBends = False,
) -> None:
    from bracketgen.errors import InputFaults
    from bracketgen.terminal.parts import run_batch
    from bracketgen.terminal.summary import stop, tell_brief

    try:
        packing, wanted = _asked(files, quantity, shop_bends)
    except InputFaults as error:
        stop(error.faults)
    count = {task.name: number for task, number in wanted if not _is_outcome(task)}

    def tell(outcome: Outcome) -> None:
        tell_brief(outcome)
        if outcome.written == ():
            why = "a rule failed" if outcome.made is not None else "its description has faults"
            packing.left_out.append(f"{outcome.name or 'a part'}: {why}")

    code = run_batch([task for task, _ in wanted], lambda task: _pack_one(task, count[task.name], packing), tell)
    raise typer.Exit(max(code, _write(packing, out, zip_)))


def _is_outcome(one: Task | Outcome) -> bool:
    from bracketgen.terminal.parts import Outcome

    return isinstance(one, Outcome)


def _asked(files: list[str], quantity: int, shop_bends: bool) -> tuple[Packing, list[tuple[Task | Outcome, int]]]:
    """The empty pack, and every part with its quantity. Raises InputFaults."""
    from bracketgen.shop.order import Bender
    from bracketgen.terminal.parts import Request, gather, job_of, job_parts, job_stem

    bender = Bender.SHOP if shop_bends else Bender.CUSTOMER
    job = job_of(files)
    stem = job_stem(files[0]) if len(files) == 1 else ""
    if job is not None:
        said = job.document
        bender = Bender.SHOP if said.bends == "shop" else bender
        return Packing(said.title, stem or "job", bender, said.finish), job_parts(job)
    parts: list[tuple[Task | Outcome, int]] = [(one, quantity) for one in gather(Request(tuple(files)))]
    return Packing(stem or "several parts", stem or "parts", bender), parts


def _pack_one(task: Task, quantity: int, packing: Packing) -> Outcome:
    """One part into the pack, unless it failed. Raises InputFaults, WriteFault."""
    from bracketgen.commands.make import model_faults
    from bracketgen.drawing.solid.mesh import folded_model
    from bracketgen.files.step import step_bytes
    from bracketgen.shop.hardware import hardware_lines, mates_in_place
    from bracketgen.shop.order import order_line
    from bracketgen.terminal.parts import Outcome

    made = task.work_out()
    if made.failed:
        return Outcome(task.name, made)
    files, cuts = _cut_files(task, made)
    with model_faults(task):
        model = folded_model(made.folded, made.file_stem)
    files[f"{made.file_stem}.step"] = step_bytes(model.skin, made.file_stem, made.job.part.title, model.cautions)
    hardware = hardware_lines(made.job.part, quantity, mates_in_place(made.place))
    line = order_line(made.flat, model.skin.size_mm, quantity, packing.bender, packing.finish, hardware)
    packing.files |= files
    packing.cut_files[line.name] = cuts
    packing.lines.append(line)
    return Outcome(task.name, made, written=tuple(files))


def _cut_files(task: Task, made: Made) -> tuple[dict[str, bytes], list[str]]:
    """The usual files with the other dialects, and the cut files in the order they are to be tried."""
    from bracketgen.commands.make import _files
    from bracketgen.drawing.to_cut.blank import Extra, cut_sheet
    from bracketgen.files.dxf import Dialect, verified_dxf
    from bracketgen.pipeline import USUAL_OUTPUTS

    files = _files(task, made, USUAL_OUTPUTS)
    sheet = cut_sheet(made.flat, (Extra(e) for e in made.job.also))
    cuts = [Dialect.USUAL.file_name(made.file_stem)]
    for dialect in (Dialect.LINES_AND_ARCS, Dialect.R12):
        cuts.append(f"{IF_REFUSED}/{dialect.file_name(made.file_stem)}")
        files[cuts[-1]] = verified_dxf(sheet, dialect=dialect)
    return files, cuts


def _write(packing: Packing, out: Path, zipped: bool) -> Exit:
    """The pack on the disk, told; a pack of an earlier run never stays looking fresh."""
    from bracketgen.commands.make import _folder_faults
    from bracketgen.errors import InputFaults
    from bracketgen.files.pack import set_pack_aside
    from bracketgen.terminal.parts import Exit
    from bracketgen.terminal.screen import say
    from bracketgen.terminal.summary import stop

    folder = out / f"{packing.name}-pack"
    archive = out / f"{folder.name}.zip"
    try:
        with _folder_faults(out):
            if not packing.lines:
                aside = [name for path in (folder, archive) if (name := set_pack_aside(path))]
                say(["no pack: there is no part to put in", *(f"  set aside: {name} (out of date)" for name in aside)])
                return Exit.CLEAN
            say(_written(packing, folder, archive if zipped else None))
    except InputFaults as error:
        stop(error.faults)
    return Exit.CLEAN


def _written(packing: Packing, folder: Path, archive: Path | None) -> list[str]:
    """Raises OSError."""
    from bracketgen.files.disk import write_whole
    from bracketgen.files.pack import set_pack_aside, with_manifest, write_pack, zip_bytes
    from bracketgen.shop.order import order_text

    text = order_text(packing.title, packing.lines, packing.cut_files, packing.left_out)
    files = with_manifest(packing.files | {"order.txt": text.encode()})
    folder.parent.mkdir(parents=True, exist_ok=True)
    aside = [write_pack(folder, files)]
    said = [f"pack: {folder} ({len(files)} files)"]
    if archive is not None:
        write_whole(archive, zip_bytes(folder.name, files))
        said.append(f"zip: {archive}")
    else:
        aside.append(set_pack_aside(folder.with_name(f"{folder.name}.zip")))
    said += [f"  set aside: {name} (out of date)" for name in aside if name]
    return said + [f"  NOT in this pack: {text}" for text in packing.left_out]
