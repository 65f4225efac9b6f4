"""Find a bend order and write the brake sheet.

Tries each bend in section against punch, die, ram and bed (or nose, bed and leaf) until every bend can be made:
NAME-brake.pdf has the order, back gauge or sight line, over-bend, force and tools.

Exit code: 0 all clean, 1 a rule failed or no order works, 2 an input is wrong, 3 internal error.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Annotated, Final

import typer

from bracketgen.drawing.workshop.brake_sheet import brake_pages, over_words, remarks, tool_words
from bracketgen.files.pdf import pdf_bytes
from bracketgen.findings import Finding, Level
from bracketgen.geometry.plane import Point
from bracketgen.part.mark import mark_of, stamp
from bracketgen.shop.brake.brakes import Brake, LeafBrake, PressBrake, usual_leaf, usual_press
from bracketgen.shop.brake.figures import legs_off_mm, legs_off_words
from bracketgen.shop.brake.plan import MOST_LEGS_OFF_MM, BrakePlan, BrakeStep, plan_brake
from bracketgen.shop.brake.tooling_file import read_tooling
from bracketgen.terminal.batch import run_batch
from bracketgen.terminal.named_files import read_text, write_files
from bracketgen.terminal.options import Files, OptionReader, Out, Settings, Table
from bracketgen.terminal.papers import BRAKE, papers_set_aside
from bracketgen.terminal.parts import Outcome, PartRequest, gather
from bracketgen.terminal.screen import say, wrapped
from bracketgen.terminal.summary import tell_pages
from bracketgen.units import plain

Tooling = Annotated[
    str | None,
    typer.Option(
        "--tooling",
        metavar="TOML",
        help="Your own tools: outlines of punches, dies, bed or nose and leaf; see shapes/tooling. Else usual ones.",
    ),
]
Machine = Annotated[
    str | None, typer.Option("--machine", metavar="KIND", help="press or leaf; left out: what the tooling file has.")
]


def brake(
    files: Files,
    tooling: Tooling = None,
    machine: Machine = None,
    out: Out = Path("out"),
    set_: Settings = None,
    table: Table = None,
) -> None:
    on, plans = _brake(tooling, machine), dict[str, BrakePlan]()

    def work(request: PartRequest) -> Outcome:
        """One part planned and, when it can be made, its sheet written. Raises InputFaults."""
        made = request.work_out()
        plan = plans[request.name] = plan_brake(made.flat, on)
        made = replace(made, findings=(*made.findings, *_stopped(plan)))
        if made.failed or not plan.flat.strips:
            return Outcome(request.name, made)
        said = stamp(made.mark, ("tooling", plan.tooling_mark))
        pages = pdf_bytes(brake_pages(plan), made.job.part.title, said)
        return Outcome(request.name, made, written=write_files({f"{made.file_stem}{BRAKE}": pages}, out))

    def tell(outcome: Outcome) -> None:
        plan = plans.get(outcome.name)
        lines = brake_lines(plan) if plan is not None and outcome.made and not outcome.made.refused else []
        if outcome.written:
            lines += wrapped(", ".join(outcome.written), "  file    ")
        # A part that can't be made gets no sheet; one that an earlier run left must not stay looking fresh.
        outcome = papers_set_aside(outcome, out, {"tooling": mark_of(on)}, BRAKE)
        tell_pages(outcome, lines)
        if lines or outcome.set_aside:
            say("")

    raise typer.Exit(run_batch(gather(files, set_, table), work, tell))


_OTHER: Final = (
    "give --tooling with tools for its radius, or make the flat for these (the die, or inside_radius, in [bend])"
)
_CURE: Final = "other tools, other legs, or a joint instead of a bend"


def _stopped(plan: BrakePlan) -> list[Finding]:
    """A part that no order makes, or whose legs come out wrong, fails like one that breaks a rule."""
    source = f"section check on: {plan.brake.title}"
    if plan.gave_up and not plan.stopped:
        remedy = "the search gave up: bend it in two parts, or ask a shop with other tools"
        return [Finding("bend-order", Level.FAIL, "order", None, None, "", None, remedy, source)]
    found = [
        Finding("bend-order", Level.FAIL, bend, None, None, "", _place(plan, bend), f"{o.words}: {_CURE}", source)
        for bend, o in plan.stopped
    ]
    for made in plan.steps:
        comes_out = (plan.flat.strip(made.bend.id), plan.flat.part.stock.thickness_mm, made.comes_out_mm)
        off, limit = abs(legs_off_mm(*comes_out)), MOST_LEGS_OFF_MM
        if off > limit:
            words = legs_off_words(*comes_out)
            remedy = (
                f"on {tool_words(made)} the bend leaves about R{plain(made.comes_out_mm, 1)}, and {words}: {_OTHER}"
            )
            found.append(
                Finding(
                    "brake-radius",
                    Level.FAIL,
                    made.bend.id,
                    off,
                    limit,
                    "mm",
                    _place(plan, made.bend.id),
                    remedy,
                    source,
                )
            )
    return found


def _place(plan: BrakePlan, bend: str) -> Point:
    """The middle of a bend in the flat."""
    return plan.flat.strip(bend).centre_line.middle


def _brake(tooling: str | None, machine: str | None) -> Brake:
    """The brake that was asked for. Raises InputFaults."""
    reader = OptionReader()
    kinds: dict[str, type[Brake]] = {"press": PressBrake, "leaf": LeafBrake}
    wanted = reader.word("--machine", machine, kinds) if machine is not None else None
    reader.stop_if_any()
    found = read_tooling(read_text(tooling, "tooling file"), tooling) if tooling else (usual_press(), usual_leaf())
    fitting = [b for b in found if wanted is None or isinstance(b, wanted)]
    if not fitting:
        reader.fault("--machine", f"{tooling} describes no {machine} brake", "name the file that does")
        reader.stop_if_any()
    return fitting[0]


# What is told about a part on the brake: the order with its figures, or what is in the way.


_INDENT: Final = "  "
_UNDER: Final = " " * 10


def brake_lines(plan: BrakePlan) -> list[str]:
    """The brake, then every step in order; for a plan that does not work the best beginning and what stopped it."""
    lines = wrapped(plan.brake.title, f"{_INDENT}brake   ")
    if not plan.flat.strips:
        return [*lines, f"{_INDENT}this part has no bends"]
    if not plan.works:
        what = "the search gave up after many tries" if plan.gave_up else "no order can be made with these tools"
        if plan.steps:
            what += f"; as far as it goes: {len(plan.steps)} of {len(plan.flat.strips)} bends"
        lines += wrapped(what, f"{_INDENT}order   ")
    for place, made in enumerate(plan.steps, 1):
        lines += _step(place, made)
    for remark in remarks(plan):
        lines += wrapped(remark, f"{_INDENT}note    ")
    return [*lines, *(line for said in plan.cautions for line in wrapped(said, f"{_INDENT}caution "))]


def _step(place: int, made: BrakeStep) -> list[str]:
    """How the part lies, then the figures."""
    bend, gauging = made.bend, made.gauging
    lies = f"{bend.id}: {plain(bend.turn_deg)}° {bend.way}, {made.face_up} up, {made.held_panel!r}"
    if gauging is None:
        where = f"under the clamp, sight line {plain(made.scribe.sight_mm, 1)} mm from its edge"
    elif gauging.distance_mm is None:
        where = f"to the back, by the scribed line {plain(made.scribe.edge_mm, 1)} mm from its edge"
    else:
        where = f"to the back gauge at {plain(gauging.distance_mm, 1)} mm"
    figures = [f"bend over to {over_words(made)}"]
    if made.force is not None:
        figures.append(f"about {plain(made.force.kn, 0)} kN ({plain(made.force.kn_per_m, 0)} kN/m)")
    figures.append(tool_words(made))
    return [*wrapped(f"{lies} {where}", f"{_INDENT}step {place:<3}"), *wrapped("; ".join(figures), _UNDER)]
