"""Write a shop drawing and a hand-work sheet.

NAME-drawing.pdf: the flat with holes from two datum edges, views of the folded part, bends, tolerances, cautions.
NAME-hand-work.pdf: what to scribe, punch and drill, and the order of work with pictures.

Exit code: 0 all clean, 1 a rule failed, 2 an input is wrong, 3 internal error; of several parts the highest.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bracketgen.terminal.options import Files, Settings, Table

if TYPE_CHECKING:
    from bracketgen.drawing.workshop.shop_drawing import Paper
    from bracketgen.pipeline import Made
    from bracketgen.terminal.parts import Outcome, Task

PaperWord = Annotated[str, typer.Option("--paper", metavar="SIZE", help="a4, a3 or letter.")]
Quantity = Annotated[int, typer.Option("--quantity", metavar="N", help="How many are wanted; stands on the sheets.")]
Out = Annotated[Path, typer.Option("--out", metavar="FOLDER", help="Where the files go; made if it is not there.")]
EvenIfFailed = Annotated[
    bool, typer.Option("--even-if-failed", help="Write them for a part that failed a rule too, marked on every page.")
]


@dataclass(frozen=True, slots=True)
class Wish:
    """What is to be drawn, and where it goes."""

    folder: Path
    paper: Paper
    quantity: int
    even_if_failed: bool


def sheets(
    files: Files,
    paper: PaperWord = "a4",
    quantity: Quantity = 1,
    out: Out = Path("out"),
    set_: Settings = None,
    table: Table = None,
    even_if_failed: EvenIfFailed = False,
) -> None:
    from bracketgen.terminal.parts import Request, gather, run_batch

    wish = _wish(paper, quantity, out, even_if_failed)
    parts = gather(Request(tuple(files), tuple(set_ or ()), table))
    raise typer.Exit(run_batch(parts, lambda task: sheets_one(task, wish), lambda outcome: _tell(outcome, wish)))


def sheets_one(task: Task, wish: Wish) -> Outcome:
    """One part's sheets written, unless the part failed. Raises InputFaults."""
    from bracketgen.commands.make import _folder_faults
    from bracketgen.pipeline import write
    from bracketgen.terminal.parts import Outcome

    made = task.work_out()
    if made.failed and not wish.even_if_failed:
        return Outcome(task.name, made)
    files = sheet_files(made, wish.paper, wish.quantity)
    with _folder_faults(wish.folder):
        write(files, wish.folder)
    return Outcome(task.name, made, written=tuple(str(wish.folder / name) for name in files))


def sheet_files(made: Made, paper: Paper, quantity: int) -> dict[str, bytes]:
    """Both PDF files of a part by name."""
    from bracketgen.drawing.by_hand.hand_work import hand_work
    from bracketgen.drawing.workshop.shop_drawing import shop_drawing
    from bracketgen.files.pdf import pdf_bytes
    from bracketgen.shop.hardware import mates_in_place

    subject, title = (made.flat, made.folded, made.findings, paper, quantity), made.job.part.title
    return {
        f"{made.file_stem}-drawing.pdf": pdf_bytes(shop_drawing(*subject, mates_in_place(made.place)), title),
        f"{made.file_stem}-hand-work.pdf": pdf_bytes(hand_work(*subject), title),
    }


def _wish(paper: str, quantity: int, folder: Path, even_if_failed: bool) -> Wish:
    """What was typed, with every fault of it told at once."""
    from bracketgen.drawing.workshop.shop_drawing import Paper
    from bracketgen.errors import InputFaults
    from bracketgen.terminal.options import OptionReader
    from bracketgen.terminal.summary import stop

    reader = OptionReader()
    size = reader.word("--paper", paper, {p.name.lower(): p for p in Paper})
    if quantity < 1:
        reader.fault("--quantity", f"{quantity} parts can't be ordered", "give 1 or more")
    try:
        reader.stop_if_any()
    except InputFaults as error:
        stop(error.faults)
    assert size is not None
    return Wish(folder, size, quantity, even_if_failed)


def _tell(outcome: Outcome, wish: Wish) -> None:
    from bracketgen.terminal.screen import say, wrapped
    from bracketgen.terminal.summary import tell_page

    tell_page(outcome)
    if outcome.written:
        say([line for path in outcome.written for line in wrapped(path, "  file: ")])
        say("  Print at 100 %. Sizes are stated on the sheets: don't measure them off the paper.")
    elif outcome.made is not None:
        why = "  no sheets, because a rule failed; --even-if-failed writes them, marked"
        say([why, *_old_lines(wish, outcome.made)])


def _old_lines(wish: Wish, made: Made) -> list[str]:
    """Sheets that an earlier run left of a part that now fails must not look fresh."""
    from bracketgen.commands.make import _folder_faults
    from bracketgen.terminal.old_files import OLD

    lines: list[str] = []
    with _folder_faults(wish.folder):
        for ending in ("-drawing.pdf", "-hand-work.pdf"):
            path = wish.folder / f"{made.job.part.name}{ending}"
            if path.is_file():
                aside = path.replace(path.with_name(OLD + path.name))
                lines.append(f"  set aside: {aside} (out of date)")
    return lines
