"""Check the rules, write no files.

Exit code: 0 all clean, 1 a rule failed, 2 an input is wrong, 3 internal error; of several parts the highest.
"""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import typer

from bracketgen.terminal.options import Brief, Files, Settings, Strict, Table

if TYPE_CHECKING:
    from bracketgen.terminal.parts import Outcome, Task


def check(
    files: Files, set_: Settings = None, table: Table = None, strict: Strict = False, brief: Brief = False
) -> None:
    from bracketgen.terminal.parts import Request, gather, run_batch
    from bracketgen.terminal.summary import tell_brief, tell_findings

    parts = gather(Request(tuple(files), tuple(set_ or ()), table))
    tell = tell_brief if brief or table is not None else tell_findings
    raise typer.Exit(run_batch(parts, partial(_check_one, strict=strict), tell, shared=True))


def _check_one(task: Task, strict: bool) -> Outcome:
    from bracketgen.terminal.parts import Outcome

    made = task.work_out()
    return Outcome(task.name, made.strict() if strict else made)
