"""Make cut file, picture and report.

DXF, PNG and JSON of each description; where it names a site, also NAME-site.png and NAME-site.glb, picture and
3D model of the part in its place (kind: site).

With --only, also the folded part alone, as if cut and bent without error: step, exact, for other programs; stl and
3mf, in mm from zero upward, to print a mock-up; glb, to look at. The last three are facets within 0.02 mm of the
true surface. A print is for trying the fit: it carries no load and stands no heat.

Parts whose failure kills are refused, whatever a waiver says: seats, belt and harness anchors, child restraints,
airbags, steering, suspension, brakes, pedals, towing and couplings, winches, wheel adapters, roll cages, lifting and
jacking points, axle stands, traction batteries, gas bottles. `bracketgen show refused` lists their words; where a word
can be harmless, means = "..." at the head of the description says what the part holds.

Exit code: 0 all clean, 1 a rule failed, 2 an input is wrong, 3 internal error; of several parts the highest.
A part that failed gets no files. Every file carries the part's mark, which changes with its values: papers of the
part that show another state are renamed OLD-..., whichever command wrote them, and what has changed is told.
"""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Annotated

import typer

from bracketgen.errors import Fault, InputFaults, Place
from bracketgen.pipeline import Outputs
from bracketgen.terminal.batch import run_batch
from bracketgen.terminal.named_files import write_files
from bracketgen.terminal.options import Brief, Files, Out, Settings, Strict, Table
from bracketgen.terminal.papers import changes, papers_set_aside, report_before
from bracketgen.terminal.parts import Outcome, PartRequest, gather
from bracketgen.terminal.summary import tell_brief, tell_in_full
from bracketgen.units import meant

Only = Annotated[
    str,
    typer.Option(
        "--only",
        metavar="KINDS",
        help=f"Which files, with commas between them: {', '.join(kind.word for kind in Outputs)}.",
    ),
]
EvenIfFailed = Annotated[
    bool,
    typer.Option(
        "--even-if-failed", help="Write the files of a part that failed a rule too, named FAILED-..., to look at."
    ),
]


def make(
    files: Files,
    out: Out = Path("out"),
    set_: Settings = None,
    table: Table = None,
    only: Only = "dxf,png,json,site",
    strict: Strict = False,
    even_if_failed: EvenIfFailed = False,
    brief: Brief = False,
) -> None:
    work = partial(_make_one, folder=out, outputs=_outputs(only), strict=strict, even_if_failed=even_if_failed)
    tell = partial(_tell, folder=out, brief=brief or table is not None)
    raise typer.Exit(run_batch(gather(files, set_, table), work, tell, shared=True))


def _outputs(only: str) -> Outputs:
    """The kinds of files that were asked for. Raises InputFaults."""
    known = {kind.word: kind for kind in Outputs}
    wanted = Outputs(0)
    faults = []
    for word in dict.fromkeys(word.strip().lower() for word in only.split(",")):
        if word in known:
            wanted |= known[word]
            continue
        cure = meant(word, known, f"write one or more of {', '.join(known)}", "")
        faults.append(Fault(Place("--only"), f"{word!r} is no kind of file here", cure))
    if faults:
        raise InputFaults(faults)
    return wanted


def _make_one(request: PartRequest, folder: Path, outputs: Outputs, strict: bool, even_if_failed: bool) -> Outcome:
    """One part worked out and, unless it failed, written. Raises InputFaults, WriteFault."""
    made = request.work_out()
    made = made.strict() if strict else made
    changed = changes(report_before(folder, request.name), made)
    if made.is_withheld(even_if_failed):
        return Outcome(request.name, made, changed=changed)
    files = request.files_of(made, outputs)
    if not files:
        what = "--only site: the description names no site"
        raise InputFaults([Fault(Place(request.file), what, "see `bracketgen show keys`, [site]")])
    return Outcome(request.name, made, written=write_files(files, folder), changed=changed)


def _tell(outcome: Outcome, folder: Path, brief: bool) -> None:
    """Tells how a part went, after papers that show another state of it were set aside."""
    (tell_brief if brief else tell_in_full)(papers_set_aside(outcome, folder))
