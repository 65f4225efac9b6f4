"""Working through several parts: each gets its outcome, whatever happens to the others."""

from __future__ import annotations

import os
import sys
import traceback
from collections.abc import Callable, Sequence
from typing import Final

from bracketgen.app.asking.tasks import Task
from bracketgen.app.outcome import Exit, Outcome
from bracketgen.app.telling.progress import Progress
from bracketgen.app.telling.speech import Tone, say, toned
from bracketgen.errors import InputFaults

#: Set to anything, it shows the whole story of an internal error.
TRACE: Final = "BRACKETGEN_TRACE"


def run_batch(
    parts: Sequence[Task | Outcome], work: Callable[[Task], Outcome], tell: Callable[[Outcome], None]
) -> Exit:
    """Every part worked through and told; the highest exit code."""
    worst = Exit.CLEAN
    count = dict.fromkeys(Exit, 0)
    progress = Progress(len(parts))
    for part in parts:
        outcome = guarded(part, work) if isinstance(part, Task) else part
        progress.step(outcome.name)
        tell(outcome)
        worst = max(worst, outcome.exit)
        count[outcome.exit] += 1
    progress.end()
    if len(parts) > 1:
        say(_total(count))
    return worst


def guarded(task: Task, work: Callable[[Task], Outcome]) -> Outcome:
    """The outcome of the work; input faults and internal errors become outcomes too."""
    try:
        return work(task)
    except InputFaults as error:
        return Outcome(task.name, faults=error.faults)
    except Exception as error:  # whatever it is, the other parts go on and the person gets one line
        return Outcome(task.name, trouble=internal_line(error, task.file))


def internal_line(error: Exception, where: str) -> str:
    """One line for an error that is ours; the whole story goes to the error stream on request."""
    if os.environ.get(TRACE):
        traceback.print_exception(error, file=sys.stderr)
    said = " ".join(str(error).split()) or "no further words"
    return (
        f"{where}: internal error, {type(error).__name__}: {said[:300]}; this is a fault of bracketgen, no file of it "
        f"was written: please report it with the description and `bracketgen --version` ({TRACE}=1 shows more)"
    )


def _total(count: dict[Exit, int]) -> str:
    words = {Exit.CLEAN: "clean", Exit.FAILED: "failed", Exit.INPUT: "with input faults", Exit.INTERNAL: "broke down"}
    tones = {Exit.CLEAN: Tone.GOOD, Exit.FAILED: Tone.BAD, Exit.INPUT: Tone.BAD, Exit.INTERNAL: Tone.BAD}
    said = [toned(f"{count[code]} {words[code]}", tones[code]) for code in Exit if count[code]]
    return f"{sum(count.values())} parts: {', '.join(said)}"
