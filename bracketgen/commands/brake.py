"""Find a bend order and write the brake sheet.

Tries each bend in section against punch, die, ram and bed (or nose, bed and leaf) until every bend can be made:
NAME-brake.pdf has the order, back gauge or sight line, over-bend, force and tools.

Exit code: 0 all clean, 1 a rule failed or no order works, 2 an input is wrong, 3 internal error.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

from bracketgen.terminal.options import Files, Settings, Table
from bracketgen.terminal.screen import wrapped

if TYPE_CHECKING:
    from bracketgen.findings import Finding
    from bracketgen.shop.brake.brakes import Brake
    from bracketgen.shop.brake.plan import BrakePlan, BrakeStep
    from bracketgen.terminal.parts import Outcome, Task


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
Out = Annotated[Path, typer.Option("--out", metavar="FOLDER", help="Where the file goes; made if it is not there.")]


@dataclass(frozen=True, slots=True)
class Wish:
    """On which brake, and where the sheet goes; `plans` keeps what was found, by part."""

    brake: Brake
    folder: Path
    plans: dict[str, BrakePlan] = field(default_factory=dict)


def brake(
    files: Files,
    tooling: Tooling = None,
    machine: Machine = None,
    out: Out = Path("out"),
    set_: Settings = None,
    table: Table = None,
) -> None:
    from bracketgen.terminal.parts import Request, gather, run_batch

    wish = Wish(_brake(tooling, machine), out)
    parts = gather(Request(tuple(files), tuple(set_ or ()), table))
    raise typer.Exit(run_batch(parts, lambda task: brake_one(task, wish), _teller(wish)))


def brake_one(task: Task, wish: Wish) -> Outcome:
    """One part planned and, when it can be made, its sheet written. Raises InputFaults."""
    from bracketgen.commands.make import _folder_faults
    from bracketgen.drawing.brake.brake_sheet import brake_pages
    from bracketgen.files.pdf import pdf_bytes
    from bracketgen.pipeline import write
    from bracketgen.shop.brake.plan import plan_brake
    from bracketgen.terminal.parts import Outcome

    made = task.work_out()
    plan = plan_brake(made.flat, wish.brake)
    wish.plans[task.name] = plan
    made = replace(made, findings=(*made.findings, *_stopped(plan)))
    if made.failed or not plan.flat.strips:
        return Outcome(task.name, made)
    name = f"{made.file_stem}-brake.pdf"
    with _folder_faults(wish.folder):
        write({name: pdf_bytes(brake_pages(plan), made.job.part.title)}, wish.folder)
    return Outcome(task.name, made, written=(str(wish.folder / name),))


def _stopped(plan: BrakePlan) -> list[Finding]:
    """A part that no order makes fails like one that breaks a rule."""
    from bracketgen.findings import Finding, Level

    source = f"section check on: {plan.brake.title}"
    if plan.gave_up and not plan.stopped:
        remedy = "the search gave up: bend it in two parts, or ask a shop with other tools"
        return [Finding("bend-order", Level.FAIL, "order", None, None, "", None, remedy, source)]
    return [
        Finding("bend-order", Level.FAIL, bend, None, None, "", None, f"{o.words}: {_CURE}", source)
        for bend, o in plan.stopped
    ]


_CURE = "other tools, other legs, or a joint instead of a bend"


def _brake(tooling: str | None, machine: str | None) -> Brake:
    """The brake that was asked for, with every fault told."""
    from bracketgen.errors import InputFaults
    from bracketgen.shop.brake.brakes import LeafBrake, PressBrake, usual_leaf, usual_press
    from bracketgen.shop.brake.tooling_file import read_tooling
    from bracketgen.terminal.input_files import read_text
    from bracketgen.terminal.options import OptionReader
    from bracketgen.terminal.summary import stop

    reader = OptionReader()
    try:
        kinds: dict[str, type[Brake]] = {"press": PressBrake, "leaf": LeafBrake}
        wanted = reader.word("--machine", machine, kinds) if machine is not None else None
        reader.stop_if_any()
        found = read_tooling(read_text(tooling, "tooling file"), tooling) if tooling else (usual_press(), usual_leaf())
        fitting = [b for b in found if wanted is None or isinstance(b, wanted)]
        if not fitting:
            reader.fault("--machine", f"{tooling} describes no {machine} brake", "name the file that does")
            reader.stop_if_any()
        return fitting[0]
    except InputFaults as error:
        stop(error.faults)


def _teller(wish: Wish) -> Callable[[Outcome], None]:
    from bracketgen.terminal.screen import say, wrapped
    from bracketgen.terminal.summary import tell_page

    def tell(outcome: Outcome) -> None:
        tell_page(outcome)
        plan = wish.plans.get(outcome.name)
        files = wrapped(", ".join(outcome.written), "  file    ") if outcome.written else _old(wish, outcome)
        planned = brake_lines(plan) if plan is not None and outcome.made is not None else []
        if planned or files:
            say([*planned, *files, ""])

    return tell


def _old(wish: Wish, outcome: Outcome) -> list[str]:
    """A part that can't be made gets no sheet; one that an earlier run left must not stay looking fresh."""
    from bracketgen.terminal.old_files import set_brake_sheet_aside

    try:
        moved = set_brake_sheet_aside(wish.folder, outcome.name)
    except OSError as error:
        return [f"  OUT OF DATE and could not be renamed: {error.filename}"]
    return [f"  set aside: {path} (out of date)" for path in moved]


# What is told about a part on the brake: the order with its figures, or what is in the way.


_INDENT: Final = "  "
_UNDER: Final = " " * 10


def brake_lines(plan: BrakePlan) -> list[str]:
    """The brake, then every step in order; for a plan that does not work the best beginning and what stopped it."""
    from bracketgen.drawing.brake.brake_sheet import remarks

    lines = wrapped(plan.brake.title, f"{_INDENT}brake   ")
    if not plan.flat.strips:
        return [*lines, f"{_INDENT}this part has no bends"]
    if not plan.works:
        lines += wrapped(_best(plan), f"{_INDENT}order   ")
    for place, made in enumerate(plan.steps, 1):
        lines += _step(place, made)
    for remark in remarks(plan):
        lines += wrapped(remark, f"{_INDENT}note    ")
    return [*lines, *(line for said in plan.cautions for line in wrapped(f"{said}.", f"{_INDENT}caution "))]


def _best(plan: BrakePlan) -> str:
    what = "the search gave up after many tries" if plan.gave_up else "no order can be made with these tools"
    made = f"; as far as it goes: {len(plan.steps)} of {len(plan.flat.strips)} bends" if plan.steps else ""
    return what + made


def _step(place: int, made: BrakeStep) -> list[str]:
    """How the part lies, then the figures."""
    from bracketgen.drawing.brake.brake_sheet import over_words, tool_words
    from bracketgen.drawing.marks.plain_numbers import plain

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
