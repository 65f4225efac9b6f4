"""Working through several parts: each gets its outcome, whatever happens to the others."""

from __future__ import annotations

import io
import os
import signal
import sys
import warnings
from collections.abc import Callable, Iterator, Sequence
from contextlib import redirect_stderr, redirect_stdout
from functools import partial
from typing import Final

from bracketgen.errors import InputFaults
from bracketgen.terminal.exits import Exit, internal_line
from bracketgen.terminal.parts import Outcome, PartRequest
from bracketgen.terminal.screen import Progress, Tone, say, toned

#: Fewer parts are done before further processes have started. Own choice.
_FEWEST_TO_SHARE: Final = 24
#: Parts handed to a process at a time, so that handing them out costs nothing. Own choice.
_PARTS_AT_A_TIME: Final = 4

Work = Callable[[PartRequest], Outcome]
Tell = Callable[[Outcome], None]
#: A part that was worked through and told: its name, exit code, and what is to go to output and error stream.
Told = tuple[str, Exit, str, str]


def run_batch(parts: Sequence[PartRequest | Outcome], work: Work, tell: Tell, shared: bool = False) -> Exit:
    """Every part worked through and told, in order; the highest exit code.

    `shared`: on all processors, where there are parts enough; then `work` and `tell` are functions of a module, or
    `partial` of such, and keep nothing from one part to the next.
    """
    count = dict.fromkeys(Exit, 0)
    progress = Progress(len(parts))
    processes = min(_processors(), len(parts) // _PARTS_AT_A_TIME)
    many = shared and processes > 1 and len(parts) >= _FEWEST_TO_SHARE
    for name, code, *texts in _on_all_processors(parts, work, tell, processes) if many else _here(parts, work, tell):
        progress.step(name)
        for text, stream in zip(texts, (sys.stdout, sys.stderr), strict=True):
            if text:
                say(text.removesuffix("\n"), stream)
        count[code] += 1
    progress.end()
    if len(parts) > 1:
        say(_total(count))
    return max((code for code in Exit if count[code]), default=Exit.CLEAN)


def _here(parts: Sequence[PartRequest | Outcome], work: Work, tell: Tell) -> Iterator[Told]:
    for part in parts:
        outcome = guarded(part, work) if isinstance(part, PartRequest) else part
        tell(outcome)
        yield outcome.name, outcome.exit, "", ""


def _on_all_processors(
    parts: Sequence[PartRequest | Outcome], work: Work, tell: Tell, processes: int
) -> Iterator[Told]:
    # Only where they are needed: loading them takes as long as half a part.
    import multiprocessing
    from concurrent.futures import ProcessPoolExecutor

    # A copy of this process has everything loaded already; where there is no safe copying, each starts anew.
    context = multiprocessing.get_context("fork" if sys.platform == "linux" else "spawn")
    with ProcessPoolExecutor(processes, context, signal.signal, (signal.SIGINT, signal.SIG_IGN)) as pool:
        try:
            with warnings.catch_warnings():
                # Python warns of threads while copying; those of the number library put up with it.
                warnings.simplefilter("ignore", DeprecationWarning)
                done = pool.map(
                    partial(_in_process, work, tell, sys.stdout.isatty()), parts, chunksize=_PARTS_AT_A_TIME
                )
            yield from done
        finally:
            pool.shutdown(cancel_futures=True)


def _in_process(work: Work, tell: Tell, on_terminal: bool, part: PartRequest | Outcome) -> Told:
    """One part in another process: what it says is kept for the one that speaks."""
    out, err = _Kept(on_terminal), _Kept(on_terminal)
    with redirect_stdout(out), redirect_stderr(err):
        outcome = guarded(part, work) if isinstance(part, PartRequest) else part
        tell(outcome)
    return outcome.name, outcome.exit, out.getvalue(), err.getvalue()


class _Kept(io.StringIO):
    """Text kept as a terminal would get it, colours and all, where there is one."""

    def __init__(self, on_terminal: bool) -> None:
        super().__init__()
        self._on_terminal = on_terminal

    def isatty(self) -> bool:
        return self._on_terminal


def _processors() -> int:
    """Those that this process may use."""
    return len(os.sched_getaffinity(0)) if sys.platform == "linux" else os.cpu_count() or 1


def guarded(task: PartRequest, work: Work) -> Outcome:
    """The outcome of the work; input faults and internal errors become outcomes too."""
    try:
        return work(task)
    except InputFaults as error:
        return Outcome(task.name, faults=error.faults)
    except Exception as error:  # whatever it is, the other parts go on and the person gets one line
        return Outcome(task.name, trouble=internal_line(error, task.file))


def _total(count: dict[Exit, int]) -> str:
    words = {Exit.CLEAN: "clean", Exit.FAILED: "failed", Exit.INPUT: "with input faults", Exit.INTERNAL: "broke down"}
    tones = {Exit.CLEAN: Tone.GOOD, Exit.FAILED: Tone.BAD, Exit.INPUT: Tone.BAD, Exit.INTERNAL: Tone.BAD}
    said = [toned(f"{count[code]} {words[code]}", tones[code]) for code in Exit if count[code]]
    return f"{sum(count.values())} parts: {', '.join(said)}"
