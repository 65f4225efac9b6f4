"""Find a bend order and write the brake sheet.

Tries each bend in section against punch, die, ram and bed (or nose, bed and leaf) until every bend can be made:
NAME-brake.pdf has the order, back gauge or sight line, over-bend, force and tools.

Exit code: 0 all clean, 1 a rule failed or no order works, 2 an input is wrong, 3 internal error.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bracketgen.app.asking.options import Files, Settings, Table

if TYPE_CHECKING:
    from bracketgen.app.asking.tasks import Task
    from bracketgen.app.outcome import Outcome
    from bracketgen.findings import Finding
    from bracketgen.shop.brake.brakes import Brake
    from bracketgen.shop.brake.plan import BrakePlan

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
    from bracketgen.app.asking.tasks import Request, gather
    from bracketgen.app.batch import run_batch

    wish = Wish(_brake(tooling, machine), out)
    parts = gather(Request(tuple(files), tuple(set_ or ()), table))
    raise typer.Exit(run_batch(parts, lambda task: brake_one(task, wish), _teller(wish)))


def brake_one(task: Task, wish: Wish) -> Outcome:
    """One part planned and, when it can be made, its sheet written. Raises InputFaults."""
    from bracketgen.app.commands.make import _folder_faults
    from bracketgen.app.outcome import Outcome
    from bracketgen.drawing.brake.brake_sheet import brake_pages
    from bracketgen.pipeline import write
    from bracketgen.shop.brake.plan import plan_brake
    from bracketgen.writers.pdf import pdf_bytes

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
    from bracketgen.app.asking.option_reader import OptionReader
    from bracketgen.app.asking.text_file import read_text
    from bracketgen.app.telling.outcomes import stop
    from bracketgen.errors import InputFaults
    from bracketgen.shop.brake.brakes import LeafBrake, PressBrake, usual_leaf, usual_press
    from bracketgen.shop.brake.tooling_file import read_tooling

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
    from bracketgen.app.telling.brake_lines import brake_lines
    from bracketgen.app.telling.outcomes import tell_page
    from bracketgen.app.telling.speech import say, wrapped

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
    from bracketgen.app.old_files import set_brake_sheet_aside

    try:
        moved = set_brake_sheet_aside(wish.folder, outcome.name)
    except OSError as error:
        return [f"  OUT OF DATE and could not be renamed: {error.filename}"]
    return [f"  set aside: {path} (out of date)" for path in moved]
