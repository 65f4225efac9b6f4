"""Make the hand-over pack for the cutting shop.

Each part's cut file (and two more for readers that refuse it), folded model (STEP), picture, report; one order
sheet, and a list with checksums. A part that failed a rule stays out, and the sheet says so.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated

import typer

from bracketgen.drawing.cut_sheet import Extra, cut_sheet
from bracketgen.drawing.solid.mesh import folded_model
from bracketgen.files.disk import set_pack_aside, with_manifest, write_pack, write_whole, zip_bytes
from bracketgen.files.dxf import Dialect, verified_dxf
from bracketgen.files.step import step_bytes
from bracketgen.pipeline import USUAL_OUTPUTS
from bracketgen.shop.hardware import hardware_lines, mates_in_place
from bracketgen.shop.order import Bender, OrderLine, order_line, order_text
from bracketgen.terminal.batch import run_batch
from bracketgen.terminal.jobs import job_of, job_parts, job_stem
from bracketgen.terminal.named_files import aside_lines, folder_faults
from bracketgen.terminal.papers import stale_words
from bracketgen.terminal.parts import Outcome, PartRequest, gather
from bracketgen.terminal.screen import say
from bracketgen.terminal.summary import tell_brief

Files = Annotated[list[str], typer.Argument(metavar="FILES", help="Descriptions, or one job file that lists them.")]
Quantity = Annotated[int, typer.Option("--quantity", min=1, max=3000, help="Of each description; a job has its own.")]
Out = Annotated[Path, typer.Option("--out", metavar="FOLDER", help="Where the pack's folder goes.")]
Zip = Annotated[bool, typer.Option("--zip", help="Write one zip too, for the mail.")]
ShopBends = Annotated[bool, typer.Option("--shop-bends", help="The cutting shop bends too; a job says it itself.")]
#: Cut files for readers that refuse the usual one lie apart, so that nobody cuts a part three times.
IF_REFUSED = "if-refused"


@dataclass(slots=True)
class Packing:
    """The order as it is worked out: what goes into the pack, what stays out with the reason, what lies stale `beside`
    it in the folder."""

    title: str
    name: str
    bender: Bender
    beside: Path
    finish: str = ""
    lines: list[OrderLine] = field(default_factory=list)
    files: dict[str, bytes] = field(default_factory=dict)
    cut_files: dict[str, list[str]] = field(default_factory=dict)
    left_out: list[str] = field(default_factory=list)
    stale: list[str] = field(default_factory=list)


def pack(
    files: Files,
    quantity: Quantity = 1,
    out: Out = Path("out"),
    zip_: Zip = False,
    shop_bends: ShopBends = False,
) -> None:
    packing, wanted = _asked(files, quantity, shop_bends, out)
    count = {one.name: number for one, number in wanted if isinstance(one, PartRequest)}

    def work(request: PartRequest) -> Outcome:
        return _pack_one(request, count[request.name], packing)

    def tell(outcome: Outcome) -> None:
        tell_brief(outcome)
        if outcome.written == ():
            why = "a rule failed" if outcome.made is not None else "its description has faults"
            packing.left_out.append(f"{outcome.name or 'a part'}: {why}")

    code = run_batch([one for one, _ in wanted], work, tell)
    with folder_faults(out):
        say(_written(packing, out / f"{packing.name}-pack", zip_))
    raise typer.Exit(code)


def _asked(
    files: list[str], quantity: int, shop_bends: bool, out: Path
) -> tuple[Packing, list[tuple[PartRequest | Outcome, int]]]:
    """The empty pack, and every part with its quantity. Raises InputFaults."""
    bender = Bender.SHOP if shop_bends else Bender.CUSTOMER
    stem = job_stem(files[0]) if len(files) == 1 else ""
    job = job_of(files)
    if job is not None:
        source, said = job
        bender = Bender.SHOP if said.bends == "shop" else bender
        return Packing(said.title, stem or "job", bender, out, said.finish), job_parts(source, said)
    return Packing(stem or "several parts", stem or "parts", bender, out), [(one, quantity) for one in gather(files)]


def _pack_one(request: PartRequest, quantity: int, packing: Packing) -> Outcome:
    """One part into the pack, unless it failed. Raises InputFaults, WriteFault."""
    made = request.work_out()
    if made.failed:
        return Outcome(request.name, made)
    files = request.files_of(made, USUAL_OUTPUTS)
    # The cut files in the order they are to be tried: the usual one, then the other dialects.
    sheet = cut_sheet(made.flat, (Extra(e) for e in made.job.also))
    cuts = [Dialect.USUAL.file_name(made.file_stem)]
    for dialect in (Dialect.LINES_AND_ARCS, Dialect.R12):
        cuts.append(f"{IF_REFUSED}/{dialect.file_name(made.file_stem)}")
        files[cuts[-1]] = verified_dxf(sheet, dialect=dialect)
    with request.model_faults():
        model = folded_model(made.folded, made.file_stem)
    files[f"{made.file_stem}.step"] = step_bytes(
        model.skin, made.file_stem, made.job.part.title, (made.stamp, *model.cautions)
    )
    hardware = hardware_lines(made.job.part, quantity, mates_in_place(made.place))
    line = order_line(made.flat, model.skin.size_mm, quantity, packing.bender, packing.finish, hardware)
    packing.files |= files
    packing.cut_files[line.name] = cuts
    packing.lines.append(line)
    packing.stale += stale_words(packing.beside, made)
    return Outcome(request.name, made, written=tuple(files))


def _written(packing: Packing, folder: Path, zipped: bool) -> list[str]:
    """The pack on the disk, in words; a pack of an earlier run never stays looking fresh. Raises OSError."""
    archive = folder.with_name(f"{folder.name}.zip")
    if not packing.lines:
        return ["no pack: there is no part to put in", *aside_lines(map(set_pack_aside, (folder, archive)))]
    text = order_text(packing.title, packing.lines, packing.cut_files, packing.left_out)
    files = with_manifest(packing.files | {"order.txt": text.encode()})
    folder.parent.mkdir(parents=True, exist_ok=True)
    aside = [write_pack(folder, files)]
    said = [f"pack: {folder} ({len(files)} files)"]
    if zipped:
        write_whole(archive, zip_bytes(folder.name, files))
        said.append(f"zip: {archive}")
    else:
        aside.append(set_pack_aside(archive))
    said += [*aside_lines(aside), *(f"  NOT in this pack: {text}" for text in packing.left_out)]
    return [*said, *(f"  stale: {text}" for text in packing.stale)]
