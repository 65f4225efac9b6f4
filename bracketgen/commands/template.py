"""Print a paper template, 1:1.

A PDF of the flat with bars to measure, hole centres, bends and card folds, over several sheets when it is large.
Print it at 100 %, measure the bars, and type what they measure with --measured: that says how true the printer is
and, if it is off, writes a corrected template.

Exit code: 0 all clean, 1 a rule failed, 2 an input is wrong, 3 internal error; of several parts the highest.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

from bracketgen.terminal.options import Files, Settings, Table
from bracketgen.terminal.screen import wrapped

if TYPE_CHECKING:
    from bracketgen.drawing.template import Face, PaperSize, Scale
    from bracketgen.pipeline import Made
    from bracketgen.terminal.options import OptionReader
    from bracketgen.terminal.parts import Outcome, Task


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
Out = Annotated[Path, typer.Option("--out", metavar="FOLDER", help="Where the file goes; made if it is not there.")]
EvenIfFailed = Annotated[
    bool, typer.Option("--even-if-failed", help="Write it for a part that failed a rule too, marked so on every sheet.")
]

_FAILED_NOTICE: Final = "DO NOT CUT METAL FROM THIS: a rule failed, see `bracketgen check`."


@dataclass(frozen=True, slots=True)
class Wish:
    """What is to be drawn, and where it goes; `measured` is None before anything was printed."""

    folder: Path
    paper: PaperSize
    face: Face
    card_mm: float | None
    measured: Scale | None
    even_if_failed: bool

    def file_name(self, stem: str) -> str:
        """Paper, face and correction are part of the name, so that no sheet is taken for another."""
        from bracketgen.drawing.template import Face

        back = "-back" if self.face is Face.BACK else ""
        corrected = "-corrected" if self.measured is not None else ""
        return f"{stem}-template-{self.paper.name.lower()}{back}{corrected}.pdf"


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
    from bracketgen.terminal.parts import Request, gather, run_batch

    wish = _wish(paper, measured, face, card, out, even_if_failed)
    parts = gather(Request(tuple(files), tuple(set_ or ()), table))
    raise typer.Exit(run_batch(parts, lambda task: template_one(task, wish), _teller(wish)))


def template_one(task: Task, wish: Wish) -> Outcome:
    """One part's template written, unless the part failed or the printer is true. Raises InputFaults."""
    from bracketgen.commands.make import _folder_faults
    from bracketgen.drawing.one_to_one.printed import is_true
    from bracketgen.drawing.template import TRUE, template_pages
    from bracketgen.files.pdf import pdf_bytes
    from bracketgen.pipeline import write
    from bracketgen.terminal.parts import Outcome

    made = task.work_out()
    name = wish.file_name(made.file_stem)
    if (made.failed and not wish.even_if_failed) or (wish.measured is not None and is_true(wish.measured)):
        return Outcome(task.name, made)
    notice = _FAILED_NOTICE if made.failed else ""
    pages = template_pages(
        made.flat, made.folded, wish.paper, wish.measured or TRUE, face=wish.face, card_mm=wish.card_mm, notice=notice
    )
    with _folder_faults(wish.folder):
        write({name: pdf_bytes(pages, made.job.part.title)}, wish.folder)
    return Outcome(task.name, made, written=(str(wish.folder / name),))


def _wish(paper: str, measured: str | None, face: str, card: str | None, folder: Path, even_if_failed: bool) -> Wish:
    """What was typed, with every fault of it told at once."""
    from bracketgen.drawing.template import Face, PaperSize
    from bracketgen.errors import InputFaults
    from bracketgen.terminal.options import OptionReader
    from bracketgen.terminal.summary import stop

    reader = OptionReader()
    size = reader.word("--paper", paper, {p.name.lower(): p for p in PaperSize})
    side = reader.word("--face", face, {f.value: f for f in Face})
    thick = _card(reader, card) if card is not None else None
    scale = _scale(reader, measured) if measured is not None else None
    try:
        reader.stop_if_any()
    except InputFaults as error:
        stop(error.faults)
    assert size is not None and side is not None
    return Wish(folder, size, side, thick, scale, even_if_failed)


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
    from bracketgen.drawing.one_to_one.bars import BAR_INCH_MM, BAR_MM
    from bracketgen.drawing.one_to_one.printed import LEAST_SCALE, MOST_SCALE, is_possible

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


def _teller(wish: Wish) -> Callable[[Outcome], None]:
    from bracketgen.terminal.screen import say
    from bracketgen.terminal.summary import tell_page

    def tell(outcome: Outcome) -> None:
        tell_page(outcome)
        if outcome.made is not None and not (outcome.made.failed and not outcome.written):
            say(template_lines(outcome, wish.measured))
        elif outcome.made is not None:
            say(_old_lines(wish, outcome.made))

    return tell


def _old_lines(wish: Wish, made: Made) -> list[str]:
    """A failed part gets no template, and those that an earlier run left of it must not look fresh."""
    from bracketgen.commands.make import _folder_faults
    from bracketgen.terminal.old_files import OLD

    lines = ["  no template, because a rule failed; --even-if-failed writes it, marked"]
    start = f"{made.job.part.name}-template-"
    with _folder_faults(wish.folder):
        old = sorted(p for p in wish.folder.glob("*.pdf") if p.name.startswith(start))
        for path in old:
            path.replace(path.with_name(OLD + path.name))
    return [*lines, *(f"  set aside: {path.with_name(OLD + path.name)} (out of date)" for path in old)]


# What is told about a paper template: the file, how true the printer is, what to do next.


_GAP = "  "


def template_lines(outcome: Outcome, measured: Scale | None) -> list[str]:
    """What was written and what comes next; with measured bars, first what they say."""
    lines = [] if measured is None else _printer_lines(outcome, measured)
    lines += wrapped(", ".join(outcome.written), f"{_GAP}file: ") if outcome.written else []
    return [*lines, *wrapped(_next(bool(outcome.written), measured), _GAP)]


def _printer_lines(outcome: Outcome, measured: Scale) -> list[str]:
    """The true scale in each direction, and what it makes of this part."""
    from bracketgen.drawing.one_to_one.printed import good_within, is_true

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
    from bracketgen.drawing.one_to_one.bars import BAR_INCH_MM, BAR_MM
    from bracketgen.drawing.one_to_one.printed import good_within

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
