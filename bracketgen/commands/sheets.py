"""Write a shop drawing and a hand-work sheet.

NAME-drawing.pdf: the flat with holes from two datum edges, views of the folded part, bends, tolerances, cautions.
NAME-hand-work.pdf: what to scribe, punch and drill, and the order of work with pictures.

Exit code: 0 all clean, 1 a rule failed, 2 an input is wrong, 3 internal error; of several parts the highest.
"""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Annotated

import typer

from bracketgen.drawing.sheet import Paper
from bracketgen.drawing.workshop.hand_work import hand_work
from bracketgen.drawing.workshop.shop_drawing import shop_drawing
from bracketgen.files.pdf import pdf_bytes
from bracketgen.pipeline import Made
from bracketgen.shop.brake.plan import usual_order
from bracketgen.shop.hardware import mates_in_place
from bracketgen.terminal.batch import run_batch
from bracketgen.terminal.named_files import write_files
from bracketgen.terminal.options import EvenIfFailed, Files, OptionReader, Out, Settings, Table
from bracketgen.terminal.papers import DRAWING, HAND_WORK, papers_set_aside
from bracketgen.terminal.parts import Outcome, PartRequest, gather
from bracketgen.terminal.screen import wrapped
from bracketgen.terminal.summary import tell_pages, why_withheld

PaperWord = Annotated[str, typer.Option("--paper", metavar="SIZE", help="a4, a3 or letter.")]
Quantity = Annotated[int, typer.Option("--quantity", metavar="N", help="How many are wanted; stands on the sheets.")]


def sheets(
    files: Files,
    paper: PaperWord = "a4",
    quantity: Quantity = 1,
    out: Out = Path("out"),
    set_: Settings = None,
    table: Table = None,
    even_if_failed: EvenIfFailed = False,
) -> None:
    reader = OptionReader()
    size = reader.word("--paper", paper, {p.name.lower(): p for p in Paper})
    if quantity < 1:
        reader.fault("--quantity", f"{quantity} parts can't be ordered", "give 1 or more")
    reader.stop_if_any()
    assert size is not None
    work = partial(_sheets_one, folder=out, paper=size, quantity=quantity, even_if_failed=even_if_failed)
    raise typer.Exit(run_batch(gather(files, set_, table), work, partial(_tell, folder=out)))


def _sheets_one(request: PartRequest, folder: Path, paper: Paper, quantity: int, even_if_failed: bool) -> Outcome:
    """One part's sheets written, unless the part failed. Raises InputFaults."""
    made = request.work_out()
    if made.is_withheld(even_if_failed):
        return Outcome(request.name, made)
    return Outcome(request.name, made, written=write_files(sheet_files(made, paper, quantity), folder))


def sheet_files(made: Made, paper: Paper, quantity: int) -> dict[str, bytes]:
    """Both PDF files of a part by name."""
    order = usual_order(made.flat)
    subject, title = (made.flat, made.folded, made.findings, paper, quantity), made.job.part.title
    drawn = shop_drawing(*subject, mates_in_place(made.place), made.site_mark, order)
    return {
        f"{made.file_stem}{DRAWING}": pdf_bytes(drawn, title, made.stamp),
        f"{made.file_stem}{HAND_WORK}": pdf_bytes(hand_work(*subject, made.site_mark, order), title, made.stamp),
    }


def _tell(outcome: Outcome, folder: Path) -> None:
    lines = [line for path in outcome.written for line in wrapped(path, "  file: ")]
    if outcome.written:
        lines.append("  Print at 100 %. Sizes are stated on the sheets: don't measure them off the paper.")
    elif outcome.made is not None:
        lines = ["  no sheets, " + why_withheld(outcome.made)]
    tell_pages(papers_set_aside(outcome, folder), lines)
