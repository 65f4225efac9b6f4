"""Print a paper template, 1:1.

A PDF of the flat with bars to measure, hole centres, bends and card folds, over several sheets when it is large.
Print it at 100 %, measure the bars, and type what they measure with --measured: that says how true the printer is
and, if it is off, writes a corrected template.

Exit code: 0 all clean, 1 a rule failed, 2 an input is wrong, 3 internal error; of several parts the highest.
"""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Annotated, Final

import typer

from bracketgen.drawing.marks.flat_lines import FaceUp
from bracketgen.drawing.template.pages import template_pages
from bracketgen.drawing.template.sheets import (
    BAR_INCH_MM,
    BAR_MM,
    LEAST_SCALE,
    MOST_SCALE,
    PAPERS,
    TRUE,
    Scale,
    good_within,
    is_possible,
    is_true,
)
from bracketgen.files.pdf import pdf_bytes
from bracketgen.terminal.batch import run_batch
from bracketgen.terminal.named_files import write_files
from bracketgen.terminal.options import EvenIfFailed, Files, OptionReader, Out, Settings, Table
from bracketgen.terminal.papers import TEMPLATE, papers_set_aside
from bracketgen.terminal.parts import Outcome, PartRequest, gather
from bracketgen.terminal.screen import wrapped
from bracketgen.terminal.summary import tell_pages, why_withheld

PaperWord = Annotated[str, typer.Option("--paper", metavar="SIZE", help="a4 or letter.")]
Measured = Annotated[
    str | None,
    typer.Option(
        "--measured",
        metavar="ACROSS,UP",
        help="What the two 100 mm bars measure on a print of the uncorrected template, in mm: 97.0,98.5. In inches "
        "('3.9in,4in') it is the 4 in bars.",
    ),
]
FaceWord = Annotated[
    str, typer.Option("--face", metavar="FACE", help="Which face looks at you: described, or back (mirrored).")
]
Card = Annotated[
    str | None,
    typer.Option("--card", metavar="LENGTH", help="Thickness of your card: shows where it folds, such as '1.5 mm'."),
]

_FAILED_NOTICE: Final = "DO NOT CUT METAL FROM THIS: a rule failed, see `bracketgen check`."


def template(
    files: Files,
    paper: PaperWord = "a4",
    measured: Measured = None,
    face: FaceWord = "described",
    card: Card = None,
    out: Out = Path("out"),
    set_: Settings = None,
    table: Table = None,
    even_if_failed: EvenIfFailed = False,
) -> None:
    reader = OptionReader()
    size = reader.word("--paper", paper, {p.name.lower(): p for p in PAPERS})
    side = reader.word("--face", face, {f.value: f for f in FaceUp})
    thick = _card(reader, card) if card is not None else None
    scale = _scale(reader, measured) if measured is not None else None
    reader.stop_if_any()
    assert size is not None and side is not None

    def work(request: PartRequest) -> Outcome:
        """One part's template written, unless the part failed or the printer is true. Raises InputFaults."""
        made = request.work_out()
        if made.is_withheld(even_if_failed) or (scale is not None and is_true(scale)):
            return Outcome(request.name, made)
        notice = _FAILED_NOTICE if made.failed else ""
        pages = template_pages(made.flat, made.folded, size, scale or TRUE, face=side, card_mm=thick, notice=notice)
        # Paper, face and correction are part of the name, so that no sheet is taken for another.
        kind = f"{size.name.lower()}{'-back' * (side is FaceUp.BACK)}{'-corrected' * (scale is not None)}"
        name = f"{made.file_stem}{TEMPLATE}{kind}.pdf"
        return Outcome(
            request.name,
            made,
            written=write_files({name: pdf_bytes(pages, made.job.part.title, made.stamp)}, out),
        )

    raise typer.Exit(run_batch(gather(files, set_, table), work, partial(_tell, folder=out, measured=scale)))


def _card(reader: OptionReader, text: str) -> float | None:
    """Thickness of the card, mm: from paper to what a knife still cuts."""
    mm = reader.attempt("--card", lambda: reader.length(text))
    if mm is not None and not 0.05 <= mm <= 20.0:
        reader.fault("--card", f"{text!r} is no card's thickness", "give 0.05 mm to 20 mm")
    return mm


def _scale(reader: OptionReader, text: str) -> Scale | None:
    """Printed over true length, across and up the sheet."""
    typed = text.split(",")
    if len(typed) != 2:
        cure = "measure the 100 mm bar across the sheet and the one up the sheet, with a decimal point: 97.0,98.5"
        reader.fault("--measured", f"{text!r} is not two lengths", cure)
        return None
    across, up = (_share(reader, piece) for piece in typed)
    return (across, up) if across is not None and up is not None else None


def _share(reader: OptionReader, typed: str) -> float | None:
    mm = reader.attempt("--measured", lambda: reader.length(typed))
    if mm is None:
        return None
    inch = any(sign in typed for sign in ("in", '"', "″"))
    bar = BAR_INCH_MM if inch else BAR_MM
    if not is_possible(mm / bar):
        limits = f"{LEAST_SCALE * bar:.0f} to {MOST_SCALE * bar:.0f} mm"
        cure = (
            f"measure the {'4 in' if inch else '100 mm'} bar from tick to tick, in mm without a unit; {limits} can be"
        )
        reader.fault("--measured", f"a bar does not come out {typed.strip()!r} long", cure)
        return None
    return mm / bar


def _tell(outcome: Outcome, folder: Path, measured: Scale | None) -> None:
    lines: list[str] = []
    if outcome.made is not None and outcome.made.failed and not outcome.written:
        lines = ["  no template, " + why_withheld(outcome.made, "it")]
    elif outcome.made is not None:
        lines = template_lines(outcome, measured)
    tell_pages(papers_set_aside(outcome, folder), lines)


# What is told about a paper template: the file, how true the printer is, what to do next.


_GAP = "  "


def template_lines(outcome: Outcome, measured: Scale | None) -> list[str]:
    """What was written and what comes next; with measured bars, first what they say."""
    lines = [] if measured is None else _printer_lines(outcome, measured)
    lines += wrapped(", ".join(outcome.written), f"{_GAP}file: ") if outcome.written else []
    return [*lines, *wrapped(_next(bool(outcome.written), measured), _GAP)]


def _printer_lines(outcome: Outcome, measured: Scale) -> list[str]:
    """The true scale in each direction, and what it makes of this part."""
    assert outcome.made is not None
    x0, y0, x1, y1 = outcome.made.flat.bounds_mm
    longest = max(x1 - x0, y1 - y0)
    worst = max(measured, key=lambda s: abs(s - 1.0))
    across, up = (f"{100 * s:.2f} %" for s in measured)
    off = f"{abs(worst - 1.0) * longest:.1f} mm"
    verdict = "true as far as a ruler can tell" if is_true(measured) else "off"
    limit = f"limit {100 * good_within():.2f} %: what reading the bar with a ruler may be off, reading_errors table"
    said = f"the printer prints {across} across and {up} up the sheet: {verdict} ({limit})."
    far = f"Over the {longest:.0f} mm of this part the worse of the two makes {off} at most."
    return [*wrapped(f"{said} {far}", _GAP), *_doubt(measured)]


def _doubt(measured: Scale) -> list[str]:
    """Both bars as long as the 4 in bars: the wrong ones may have been measured."""
    if any(abs(s - BAR_INCH_MM / BAR_MM) > good_within() for s in measured):
        return []
    said = "Both are as long as the 4 in bars of a true print: be sure that it was the 100 mm bars that you measured."
    return wrapped(said, _GAP)


def _next(written: bool, measured: Scale | None) -> str:
    if not written:
        return "The sheets that you have are good: nothing new was written."
    if measured is None:
        return (
            "Print at 100 %, measure the bars of every sheet with a steel rule, then type the two 100 mm bars, across "
            "first: --measured 97.0,98.5"
        )
    return "Print it with the same printer, paper and settings as before. Its bars must now measure 100 mm and 4 in."
