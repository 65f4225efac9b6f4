"""Propose brackets for a site.

Flat, one bend, two bends: each keeps every rule of making, meets its holes, and is held against what stands near.
Writes NAME-span.png; with --choose also the description, which then is yours to change and to `make`.

Exit code: 0 something stands clear, 1 nothing does, 2 an input is wrong, 3 internal error.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer

from bracketgen.drawing.marks.lettering import letter_notes, texts_of
from bracketgen.drawing.picture.span_sheet import span_sheet
from bracketgen.errors import Fault, GeometryFault, InputFaults, Place
from bracketgen.files.png import png_bytes
from bracketgen.findings import Level
from bracketgen.pipeline import Made, work_out
from bracketgen.rules.refused import certain_findings
from bracketgen.standards.machines import process as known_process
from bracketgen.standards.metals import metal as known_metal
from bracketgen.standards.table import LookupFault
from bracketgen.terminal.exits import Exit, exit_of
from bracketgen.terminal.finding_lines import finding_lines, note_lines
from bracketgen.terminal.named_files import site_from, write_files, write_one
from bracketgen.terminal.options import OptionReader, Settings
from bracketgen.terminal.screen import Tone, aligned, say, toned, wrapped
from bracketgen.vehicle.in_place import names_at
from bracketgen.vehicle.locate.locate import Located, locate
from bracketgen.vehicle.odds.draws import usual_scatter
from bracketgen.vehicle.site import Site
from bracketgen.vehicle.span.practice import Practice
from bracketgen.vehicle.span.proposal import Proposal
from bracketgen.vehicle.span.span import SpanRequest, Trail, first_fit
from bracketgen.vehicle.span.span import span as proposed

SiteFile = Annotated[str, typer.Argument(metavar="SITE", help="Site file (.toml): holes, readings, neighbours.")]
Metal = Annotated[str, typer.Option("--metal", metavar="METAL", help="Metal with its temper, as `show metals` lists.")]
Thickness = Annotated[str, typer.Option("--thickness", metavar="T", help="'4 mm', '3/16 in'.")]
Die = Annotated[
    str | None, typer.Option("--die", metavar="V", help="V opening, mm; left out: the usual one for the thickness.")
]
Process = Annotated[str, typer.Option("--process", metavar="PROCESS", help="How it is cut, as `show processes` lists.")]
Face = Annotated[
    list[str] | None, typer.Option("--face", metavar="FACE", help="Only this face of the vehicle; may be repeated.")
]
Choose = Annotated[
    int | None, typer.Option("--choose", metavar="N", help="Write proposal N as a description to go on with.")
]
Write = Annotated[
    str | None,
    typer.Option("--write", metavar="FILE", help="Where --choose writes it; left out: NAME.toml beside the site file."),
]
Out = Annotated[Path, typer.Option("--out", metavar="FOLDER", help="Where the picture goes; made if it is not there.")]


def span(
    site: SiteFile,
    metal: Metal = "S235",
    thickness: Thickness = "4 mm",
    die: Die = None,
    process: Process = "laser",
    face: Face = None,
    choose: Choose = None,
    write: Write = None,
    out: Out = Path("out"),
    set_: Settings = None,
) -> None:
    def work() -> Exit:
        # What can be told before minutes of work.
        reader = OptionReader()
        if choose is not None and choose < 1:
            reader.fault("--choose", f"there is no proposal {choose}", "they are numbered from 1")
        if write is not None and choose is None:
            reader.fault("--write", "no proposal is chosen that could be written", "add --choose with its number")
        reader.stop_if_any()
        practice = _practice(metal, thickness, die, process)
        return _propose(site_from(site, set_), practice, tuple(face or ()), choose, write, out)

    raise typer.Exit(exit_of(work, site))


def _practice(metal: str, thickness: str, die: str | None, process: str) -> Practice:
    """Sheet and tooling as typed. Raises InputFaults with every fault."""
    reader = OptionReader()
    kind = reader.attempt("--metal", lambda: known_metal(metal))
    cut = reader.attempt("--process", lambda: known_process(process))
    mm = reader.attempt("--thickness", lambda: reader.length(thickness))
    opening = reader.attempt("--die", lambda: reader.length(die)) if die is not None else None
    reader.stop_if_any()
    assert kind is not None and cut is not None and mm is not None
    made = Practice(kind.id, mm, cut.id, opening)
    reader.attempt("--die" if die is not None else "--thickness", made.check)
    reader.stop_if_any()
    return made


def _propose(
    site: Site, practice: Practice, faces: tuple[str, ...], choose: int | None, write: str | None, out: Path
) -> Exit:
    refused = certain_findings(names_at(site, faces or site.document.faces))
    if refused:
        say([site.document.title, *finding_lines(refused)])
        return Exit.FAILED
    located, trail = locate(site), Trail()
    if located.loose:
        what = f"the readings leave {', '.join(located.loose)} loose, so nothing can be built on them"
        raise InputFaults([Fault(Place(site.source.file), what, "; ".join(located.advice) or "see `locate`")])
    wish = SpanRequest(faces, practice, scatter=usual_scatter())
    try:
        found = proposed(site, located, wish, trail)
    except (GeometryFault, LookupFault) as error:
        cure = error.cure if isinstance(error, GeometryFault) else ""
        raise InputFaults([Fault(Place(site.source.file), str(error), cure)]) from None
    say(span_lines(site.name, site.document.title, found, trail, located))
    if not found:
        return Exit.FAILED
    (picture,) = write_files({f"{site.name}-span.png": png_bytes(span_sheet(found, site.document.title))}, out)
    say(["", *note_lines(letter_notes(texts_of(site.source.raw))), f"  picture   {picture}"])
    if choose is not None:
        if choose > len(found):
            what = f"there is no proposal {choose}"
            raise InputFaults([Fault(Place("--choose"), what, f"choose 1 to {len(found)}")])
        chosen = first_fit(found[choose - 1], site, located, trail.seats, usual_scatter())
        if choose > 1 and chosen.odds and chosen.odds.told:
            say(wrapped(f"odds of fit {100 * chosen.odds.share:.1f} %; {'; '.join(chosen.odds.told)}", "  holes     "))
        _describe(chosen, site, write)
    return Exit.CLEAN if not found[0].fouls else Exit.FAILED


def _describe(chosen: Proposal, site: Site, write: str | None) -> None:
    """Writes the chosen one as a description, after the whole pipeline has taken it. Raises InputFaults."""
    own = Path(site.source.file)
    path = Path(write) if write is not None else own.with_name(f"{site.name}.toml")
    if path.exists():
        cure = "name another file with --write, or move that one"
        raise InputFaults([Fault(Place(str(path)), "it is there already, and may hold your changes", cure)])
    text = chosen.text_beside(Path(os.path.relpath(own, path.parent)).as_posix())
    made = work_out(text, str(path), path.stem, folder=str(path.parent))
    write_one(path, text.encode("utf-8"), "name another file with --write")
    say([f"  written   {path}", *_state(made)])


def _state(made: Made) -> list[str]:
    """What the whole pipeline says of the written description, in its place too."""
    failed = [f for f in made.findings if f.level is Level.FAIL and f.waived is None]
    if not failed:
        return ["            keeps all rules, also in its place"]
    lines = wrapped("to be settled before anything is cut (`check` tells all):", "            ")
    for f in failed[:3]:
        lines += wrapped(f"{f.rule}, {f.subject}: {f.remedy}", "            - ")
    return lines


# Proposals in words: in their order, with the reasons; or why there are none.


ORDER = (
    "Order: what fouls nothing first; then at least 10 mm over every required gap; then odds of fit from 99 %; then "
    "the lightest, where each bend, warning, odd turn and lack of stiffness counts a little as mass. Stiffness is that "
    "of a strip as long and as narrow as the bracket's way, 3 E I / L3: to compare these, no proof of strength."
)


def span_lines(name: str, title: str, proposals: Sequence[Proposal], trail: Trail, located: Located) -> list[str]:
    """What a person chooses by."""
    joined = ", ".join(f"{s.name} ({len(s.holes)})" for s in trail.seats)
    lines = [*wrapped(f"{toned(name, Tone.STRONG)}  {title}"), *wrapped(joined, "  joins     ")]
    lines += _doubts(located)
    if not proposals:
        return [*lines, "", *_none(trail)]
    lines += ["", *_table(proposals), ""]
    for n, proposal in enumerate(proposals, 1):
        tone = Tone.BAD if proposal.fouls else Tone.STRONG
        word = toned(f"{n:>3}", tone)
        lines += wrapped("; ".join(proposal.reasons), f"{word}  ")
    others = proposals[0].closest.others if proposals[0].closest else ()
    for other in others:
        lines += wrapped(other, f"  {toned('site', Tone.BAD)}  ")
    return [*lines, "", *wrapped(ORDER)]


def _doubts(located: Located) -> list[str]:
    """What the readings leave open, before anything is built on them."""
    lines: list[str] = []
    if located.suspect is not None:
        text = next((r.text for r in located.residuals if r.reading == located.suspect), "")
        told = f"reading {located.suspect + 1} ({text}) does not agree with the others: measure it again before cutting"
        lines += wrapped(told, f"  {toned('reading', Tone.WARN)}   ")
    elif located.widened > 1.0:
        told = "the readings contradict each other, and no one of them stands out: take them again before cutting"
        lines += wrapped(told, f"  {toned('readings', Tone.WARN)}  ")
    for face in located.mirror:
        lines += wrapped(f"face {face}: its mirror image fits the readings too", f"  {toned('mirror', Tone.BAD)}    ")
    return lines


def _table(proposals: Sequence[Proposal]) -> list[str]:
    rows = []
    for n, p in enumerate(proposals, 1):
        x0, y0, x1, y1 = p.flat.bounds_mm
        margin = "" if p.closest is None or p.closest.margin_mm > 1e6 else f"{p.closest.margin_mm:+.1f}"
        odds = "" if p.odds is None else f"{100 * p.odds.share:.1f}"
        size = f"{x1 - x0:.0f} x {y1 - y0:.0f}"
        figures = [f"{p.mass_kg:.2f}", size, f"{p.stiffness_n_mm:.0f}", margin, odds, str(p.warnings)]
        rows.append([str(n), p.kind.value, *figures])
    return aligned(["", "folded", "mass_kg", "flat_mm", "stiff_N/mm", "to spare_mm", "odds_%", "warnings"], rows, 2)


def _none(trail: Trail) -> list[str]:
    """Why nothing was found: the refusals, the commonest first."""
    lines = wrapped(toned("no bracket of these kinds can be made here with this sheet and die", Tone.BAD))
    for why, count in Counter(trail.refusals).most_common(4):
        lines += wrapped(f"{why} ({count} time{'' if count == 1 else 's'})", "  tried     ")
    if not trail.refusals:
        cure = "the holes leave no room for bend lines: try a thinner sheet, a smaller die, or fewer faces with --face"
        lines += wrapped(cure, "  try       ")
    return lines
