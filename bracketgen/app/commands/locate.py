"""Find the old holes from readings.

Least squares with each reading's own error: places with their uncertainty, the one reading that looks wrong,
what is loose, what fits as well mirrored, and what to measure next. Writes NAME-locate.png and
NAME-locate.json.

Exit code: 0 settled, 1 something must be settled before metal is cut, 2 an input is wrong, 3 internal error.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bracketgen.app.asking.options import Settings
from bracketgen.app.asking.site_file import site_from

if TYPE_CHECKING:
    from bracketgen.app.outcome import Exit
    from bracketgen.fit.site.site import Site

Sites = Annotated[list[str], typer.Argument(metavar="SITE...", help="Site files (.toml): holes, readings, neighbours.")]
Out = Annotated[Path, typer.Option("--out", metavar="FOLDER", help="Where the files go; made if it is not there.")]


def locate(sites: Sites, out: Out = Path("out"), set_: Settings = None) -> None:
    from bracketgen.app.outcome import Exit

    worst = Exit.CLEAN
    for file in sites:
        worst = max(worst, _one(file, out, tuple(set_ or ())))
    raise typer.Exit(worst)


def _one(file: str, out: Path, settings: tuple[str, ...]) -> Exit:
    """One site told and written; its exit code."""
    import sys

    from bracketgen.app.batch import internal_line
    from bracketgen.app.outcome import Exit
    from bracketgen.app.telling.speech import say, say_faults
    from bracketgen.errors import InputFaults

    try:
        return _work(site_from(file, settings), out)
    except InputFaults as error:
        say_faults(error.faults)
        return Exit.INPUT
    except Exception as error:  # whatever it is, the other sites go on and the person gets one line
        say(internal_line(error, file), sys.stderr)
        return Exit.INTERNAL


def _work(site: Site, out: Path) -> Exit:
    from bracketgen.app.outcome import Exit
    from bracketgen.app.telling.finding_lines import note_lines
    from bracketgen.app.telling.locate_lines import locate_lines, unsettled
    from bracketgen.app.telling.speech import say
    from bracketgen.drawing.located.locate_view import locate_view
    from bracketgen.drawing.paper.lettering import letter_notes, texts_of
    from bracketgen.fit.locate.locate import locate as located_holes
    from bracketgen.writers.png import png_bytes
    from bracketgen.writers.reports.locate_report import locate_report_bytes

    located = located_holes(site)
    title = site.document.title
    names = [f"{site.name}-locate.png", f"{site.name}-locate.json"]
    sheet = locate_view(located, title)
    files = {names[0]: png_bytes(sheet), names[1]: locate_report_bytes(located, site.name, title, names)}
    _write(files, out)
    notes = note_lines(letter_notes(texts_of(site.source.raw)))
    say([*locate_lines(site.name, title, located), *notes, f"  files     {', '.join(str(out / n) for n in names)}", ""])
    return Exit.FAILED if unsettled(located) else Exit.CLEAN


def _write(files: dict[str, bytes], folder: Path) -> None:
    """Both files or none. Raises InputFaults where the folder can't be written to."""
    from bracketgen.errors import Fault, InputFaults, Place
    from bracketgen.pipeline import write

    try:
        write(files, folder)
    except OSError as error:
        what = f"it can't be written to: {error.strerror or error}"
        raise InputFaults([Fault(Place(str(folder)), what, "name another folder with --out")]) from None
