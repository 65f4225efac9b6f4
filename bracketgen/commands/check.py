"""Check the rules, write no files.

Parts whose failure kills (seats, belts, steering, brakes, towing, lifting ...: `bracketgen show refused`) fail,
whatever a waiver says; where a word of their names can be harmless, means = "..." says what the part holds.

Exit code: 0 all clean, 1 a rule failed, 2 an input is wrong, 3 internal error; of several parts the highest.
"""

from __future__ import annotations

from functools import partial

import typer

from bracketgen.terminal.batch import run_batch
from bracketgen.terminal.options import Brief, Files, Settings, Strict, Table
from bracketgen.terminal.parts import Outcome, PartRequest, gather
from bracketgen.terminal.summary import tell_brief, tell_findings


def check(
    files: Files, set_: Settings = None, table: Table = None, strict: Strict = False, brief: Brief = False
) -> None:
    tell = tell_brief if brief or table is not None else tell_findings
    raise typer.Exit(run_batch(gather(files, set_, table), partial(_check_one, strict=strict), tell, shared=True))


def _check_one(request: PartRequest, strict: bool) -> Outcome:
    made = request.work_out()
    return Outcome(request.name, made.strict() if strict else made)
