"""Find the old holes from readings.

Least squares with each reading's own error: places with their uncertainty, the one reading that looks wrong,
what is loose, what fits as well mirrored, and what to measure next. Writes NAME-locate.png and
NAME-locate.json.

Exit code: 0 settled, 1 something must be settled before metal is cut, 2 an input is wrong, 3 internal error.
"""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Annotated, Final

import typer

from bracketgen.drawing.marks.lettering import letter_notes, texts_of
from bracketgen.drawing.picture.located_holes import locate_view
from bracketgen.files.png import png_bytes
from bracketgen.files.site_report import locate_report_bytes
from bracketgen.terminal.exits import Exit, exit_of
from bracketgen.terminal.finding_lines import note_lines
from bracketgen.terminal.named_files import site_from, write_files
from bracketgen.terminal.options import Out, Settings
from bracketgen.terminal.screen import Tone, aligned, say, toned, wrapped
from bracketgen.vehicle.locate.locate import Located, error_ellipsoid, is_loose
from bracketgen.vehicle.locate.locate import locate as located_holes

Sites = Annotated[list[str], typer.Argument(metavar="SITE...", help="Site files (.toml): holes, readings, neighbours.")]


def locate(sites: Sites, out: Out = Path("out"), set_: Settings = None) -> None:
    raise typer.Exit(max(exit_of(partial(_locate_one, file, out, set_), file) for file in sites))


def _locate_one(file: str, out: Path, settings: list[str] | None) -> Exit:
    """One site told and written. Raises InputFaults."""
    site = site_from(file, settings)
    located, title = located_holes(site), site.document.title
    names = [f"{site.name}-locate.png", f"{site.name}-locate.json"]
    report = locate_report_bytes(located, site.name, title, names)
    written = write_files({names[0]: png_bytes(locate_view(located, title)), names[1]: report}, out)
    notes = note_lines(letter_notes(texts_of(site.source.raw)))
    say([*locate_lines(site.name, title, located), *notes, f"  files     {', '.join(written)}", ""])
    return Exit.FAILED if unsettled(located) else Exit.CLEAN


# Located holes in words: places, readings, what is doubtful, what to do.


#: What a person should know before he goes back to measure.
COLD: Final = "measure with the engine off and cold: hot or running, parts lie elsewhere, and burn or catch"


def locate_lines(name: str, title: str, located: Located) -> list[str]:
    """Everything that a person wants to know of the old holes before anything is designed on them."""
    return [
        *wrapped(f"{toned(name, Tone.STRONG)}  {title}"),
        "",
        *_holes(located),
        "",
        *_readings(located),
        "",
        *_verdict(located),
        *_list("loose", located.loose, Tone.BAD),
        *_list("mirror", located.mirror_words, Tone.BAD),
        *_list("next", located.advice, Tone.STRONG),
        *wrapped(COLD, _label("care")),
    ]


def unsettled(located: Located) -> bool:
    """Whether something must be settled before metal is cut."""
    return bool(located.suspect is not None or located.loose or located.mirror or located.widened > 1.0)


def _holes(located: Located) -> list[str]:
    rows = []
    for hole in located.holes:
        spread = error_ellipsoid(located.covariance_of(hole.id))
        size = hole.thread or ("" if hole.diameter_mm is None else f"{hole.diameter_mm:.4g}")
        places = [f"{c:.2f}" for c in hole.centre]
        sigmas = [f"{s:.2f}" for s in spread.sigma_mm]
        normal = " ".join(f"{c + 0.0:.2f}" for c in (round(n, 2) for n in hole.normal))
        rows.append([hole.id, size, *(v for pair in zip(places, sigmas, strict=True) for v in pair)])
        rows[-1] += ["loose" if is_loose(located, hole.id) else f"{spread.axes_95_mm[0]:.2f}", normal]
    heads = ["hole", "size", "x_mm", "+-", "y_mm", "+-", "z_mm", "+-", "95 %_mm", "out of its face"]
    note = (
        "+- is one standard deviation; 95 % the longest half axis of the ellipse or ellipsoid that holds the hole 95 "
        "times in 100. First hole = origin, x to the second, z out of the first face."
    )
    return [*aligned(heads, rows), *wrapped(note)]


def _readings(located: Located) -> list[str]:
    rows = []
    for r in located.residuals:
        w = "" if r.w is None else f"{r.w:.1f}"
        figures = [f"{r.measured:.2f}", f"{r.residual:+.2f}", f"{r.sigma:.2f}", w]
        rows.append([f"{r.reading + 1}", r.text, *figures, _word(located, r.reading)])
    heads = ["", "reading", "read", "off", "sigma", "off/_own", ""]
    note = (
        "off = read less computed, mm (tilt and rise in degrees); sigma = what the reading was taken to be good for; "
        "off/own = off over what it may be off itself."
    )
    return [*aligned(heads, rows, 2), *wrapped(note)] if rows else ["no readings"]


def _word(located: Located, number: int) -> str:
    """What is to be said of one reading."""
    reading = located.residuals[number]
    if number == located.suspect:
        return "WRONG?"
    if number in located.suspect_alike:
        return "or this"
    if reading.w is None:
        return "unchecked"
    return ""


def _verdict(located: Located) -> list[str]:
    """Whether the readings agree with one another as well as they should."""
    if located.freedom <= 0:
        return wrapped("no reading more than needed: nothing checks them, so a slip would not be seen", _label("agree"))
    low, high = located.chi_square_bounds
    factor = located.variance_factor
    said = f"variance factor {factor:.2f} with {located.freedom} readings more than needed"
    usual = f"95 sites in 100 without a slip lie between {low:.2f} and {high:.2f}"
    if located.suspect is None and located.widened > 1.0:
        told = f"{toned('NO', Tone.BAD)}, they disagree far beyond their errors: {said}; {usual}"
    elif factor > high:
        told = f"{toned('poorly', Tone.WARN)}: {said}; {usual}"
    elif factor < low:
        told = f"better than their errors lead to expect: {said}; {usual}"
    else:
        told = f"{toned('yes', Tone.GOOD)}: {said}; {usual}"
    lines = wrapped(told, _label("agree"))
    if located.suspect is not None:
        lines += _suspect(located)
    if located.widened > 1.0:
        lines += wrapped(f"all +- were made {located.widened**0.5:.1f} times larger for it", _label(""))
    return lines


def _suspect(located: Located) -> list[str]:
    assert located.suspect is not None
    reading = located.residuals[located.suspect]
    way = "large" if (located.suspect_error or 0.0) > 0.0 else "small"
    size = f"{abs(located.suspect_error or 0.0):.2f} {reading.unit}"
    told = f"reading {reading.reading + 1} ({reading.text}) looks about {size} too {way}"
    if located.suspect_alike:
        others = ", ".join(str(n + 1) for n in located.suspect_alike)
        told += f"; a slip in {others} would look just the same"
    limit = f"off by {abs(reading.w or 0.0):.1f} of its own, limit {located.suspect_limit:.1f} at 5 % for all together"
    return wrapped(f"{told}; {limit}", _label(toned("wrong?", Tone.BAD)))


def _list(word: str, texts: tuple[str, ...], tone: Tone) -> list[str]:
    lines: list[str] = []
    for number, text in enumerate(texts):
        lines += wrapped(text, _label("" if number else toned(word, tone)))
    return lines


def _label(word: str) -> str:
    bare = word.split("m", 1)[1].split("\x1b")[0] if word.startswith("\x1b") else word
    return f"  {word}{' ' * max(0, 8 - len(bare))}  "
