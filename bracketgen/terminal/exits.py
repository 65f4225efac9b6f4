"""How a command ends: exit codes, faults of the input, and one line for an error that is ours."""

from __future__ import annotations

import os
import sys
import traceback
from collections.abc import Callable, Sequence
from enum import IntEnum
from typing import Final, NoReturn

import typer

from bracketgen.errors import Fault, InputFaults
from bracketgen.terminal.screen import say, say_faults


class Exit(IntEnum):
    """Exit codes; `Outcome.exit` decides that of a part, `run_batch` takes the highest."""

    CLEAN = 0
    FAILED = 1
    INPUT = 2
    INTERNAL = 3


#: Set to anything, it shows the whole story of an internal error.
TRACE: Final = "BRACKETGEN_TRACE"


def stop(faults: Sequence[Fault]) -> NoReturn:
    """Tell what is wrong with the input and end the command."""
    say_faults(faults)
    raise typer.Exit(Exit.INPUT)


def exit_of(work: Callable[[], Exit], where: str) -> Exit:
    """The exit code of work on the file `where`; what goes wrong is told, and other files can go on."""
    try:
        return work()
    except InputFaults as error:
        say_faults(error.faults)
        return Exit.INPUT
    except Exception as error:  # whatever it is, the person gets one line
        say(internal_line(error, where), sys.stderr)
        return Exit.INTERNAL


def internal_line(error: Exception, where: str) -> str:
    """One line for an error that is ours; the whole story goes to the error stream on request."""
    if os.environ.get(TRACE):
        traceback.print_exception(error, file=sys.stderr)
    said = " ".join(str(error).split()) or "no further words"
    return (
        f"{where}: internal error, {type(error).__name__}: {said[:300]}; this is a fault of bracketgen, no file of it "
        f"was written: please report it with the description and `bracketgen --version` ({TRACE}=1 shows more)"
    )
