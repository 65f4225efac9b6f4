"""How it went with one part, and the exit code that says so."""

from __future__ import annotations

import io
import os
import signal
import sys
import traceback
import warnings
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass, field, replace
from enum import IntEnum
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Final

from bracketgen.errors import Fault, InputFaults, Place
from bracketgen.terminal.input_files import is_file, read_text
from bracketgen.terminal.screen import Progress, Tone, say, toned

if TYPE_CHECKING:
    from bracketgen.description.family import Family, Member
    from bracketgen.description.text import Source
    from bracketgen.pipeline import Made
    from bracketgen.shop.order import JobDocument


class Exit(IntEnum):
    """Exit codes; of several parts the highest counts."""

    CLEAN = 0
    FAILED = 1
    INPUT = 2
    INTERNAL = 3


@dataclass(frozen=True, slots=True)
class Outcome:
    """One part: what was made of it, or why not.

    `name` is the part's ('' when it never got one), `written` and `set_aside` are paths as shown to a person,
    `trouble` is an internal error in one line. `not_made` names further parts that these faults have stopped.
    """

    name: str
    made: Made | None = None
    faults: tuple[Fault, ...] = ()
    trouble: str = ""
    written: tuple[str, ...] = ()
    set_aside: tuple[str, ...] = ()
    not_made: tuple[str, ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        """Every part that this is about."""
        return (self.name, *self.not_made) if self.name else self.not_made

    @property
    def exit(self) -> Exit:
        """The exit code of this part alone."""
        if self.trouble:
            return Exit.INTERNAL
        if self.faults or self.made is None:
            return Exit.INPUT
        return Exit.FAILED if self.made.failed else Exit.CLEAN


# From what was typed to the parts that are asked for: files, settings, rows of a table.


@dataclass(frozen=True, slots=True)
class Request:
    """The files, `name=value` settings and table that were typed."""

    files: tuple[str, ...]
    settings: tuple[str, ...] = ()
    table: str | None = None


@dataclass(frozen=True, slots=True)
class Task:
    """One part to work out: the description's text, and the values set from outside."""

    file: str
    text: str
    name: str
    set_values: dict[str, str] = field(default_factory=dict)
    member: Member | None = None

    def work_out(self) -> Made:
        """The part with its findings. Raises InputFaults, with faults of a table's values at their cells."""
        from bracketgen.pipeline import work_out

        folder = str(Path(self.file).parent)
        try:
            return work_out(self.text, self.file, self.name, self.set_values, folder)
        except InputFaults as error:
            if self.member is None:
                raise
            raise InputFaults(self.member.placed(error.faults, self.file)) from None


def gather(request: Request) -> list[Task | Outcome]:
    """Every part that is asked for, in order; where one can't even begin, the outcome that says why."""
    from bracketgen.description.parameters import read_settings

    settings, faults = read_settings(list(request.settings))
    if request.table is not None and len(request.files) != 1:
        what = f"a table makes a family of one description, but {len(request.files)} files are named"
        faults.append(Fault(Place("--table"), what, "name one file"))
    if faults:
        return [Outcome("", faults=tuple(faults))]
    if request.table is not None:
        return _family(request.files[0], settings, request.table)
    return list(_named_apart([_single(file, settings) for file in request.files]))


def _single(file: str, settings: dict[str, str]) -> Task | Outcome:
    from bracketgen.description.family import part_name
    from bracketgen.description.parameters import settable

    name = part_name(Path(file).stem)
    try:
        text = read_text(file, "description")
        can = settable(text, file)
    except InputFaults as error:
        return Outcome(name if is_file(file) else "", faults=error.faults)
    if not name:
        cure = "give the file a name in plain letters and digits"
        return Outcome("", faults=(Fault(Place(file), "no part can be named after this file", cure),))
    unknown = [can.fault(key, Place(f"{file} (set {key})")) for key in settings]
    faults = tuple(fault for fault in unknown if fault)
    if faults:
        return Outcome(name, faults=faults)
    return Task(file, text, name, {key: can.with_unit(key, value) for key, value in settings.items()})


def _named_apart(found: list[Task | Outcome]) -> Iterator[Task | Outcome]:
    """The same, but a part whose files another part of this run has taken is a fault."""
    taken: dict[str, str] = {}
    for one in found:
        if isinstance(one, Task):
            first = taken.setdefault(one.name.lower(), one.file)
            if first is not one.file:
                what = f"its files would be named '{one.name}' like those of {first}"
                # Without a name nothing that the first of the two writes is touched.
                yield Outcome("", faults=(Fault(Place(one.file), what, "rename one, or use --out for each"),))
                continue
        yield one


def _family(file: str, settings: dict[str, str], table: str) -> list[Task | Outcome]:
    """A task a row; faults that stop all of them are told once."""
    from bracketgen.description.family import read_family

    base = _single(file, settings)
    faults = base.faults if isinstance(base, Outcome) else _own_faults(base)
    try:
        family = read_family(read_text(table, "table"), table)
    except InputFaults as error:
        return [Outcome("", faults=(*faults, *error.faults))]
    names = tuple(member.name for member in family.members)
    if isinstance(base, Outcome) or faults:
        return [Outcome("", faults=(*faults, *family.faults), not_made=names)]
    return _members(base, family, settings, names)


def _own_faults(base: Task) -> tuple[Fault, ...]:
    """What is wrong in the description itself, before any row changes it."""
    from bracketgen.description.read import read

    try:
        read(base.text, base.file, base.set_values)
    except InputFaults as error:
        return error.faults
    return ()


def _members(base: Task, family: Family, settings: dict[str, str], names: tuple[str, ...]) -> list[Task | Outcome]:
    from bracketgen.description.parameters import settable

    can = settable(base.text, base.file)
    unknown = [can.fault(cell.text, cell.place) for cell in family.columns]
    wrong = [fault for fault in unknown if fault]
    wrong += [
        Fault(cell.place, f"'{cell.text}' is set by --set too", "keep one of the two")
        for cell in family.columns
        if cell.text in settings
    ]
    if wrong:
        return [Outcome("", faults=(*wrong, *family.faults), not_made=names)]
    tasks: list[Task | Outcome] = []
    for member in family.members:
        values = {key: can.with_unit(key, text) for key, text in member.values.items()}
        tasks.append(Task(base.file, base.text, member.name, base.set_values | values, member))
    return [*tasks, Outcome("", faults=family.faults)] if family.faults else tasks


# Working through several parts: each gets its outcome, whatever happens to the others.


#: Set to anything, it shows the whole story of an internal error.
TRACE: Final = "BRACKETGEN_TRACE"
#: Fewer parts are done before further processes have started. Own choice.
_FEWEST_TO_SHARE: Final = 24
#: Parts handed to a process at a time, so that handing them out costs nothing. Own choice.
_PARTS_AT_A_TIME: Final = 4

Work = Callable[[Task], Outcome]
Tell = Callable[[Outcome], None]
#: A part that was worked through and told: its name, exit code, and what is to go to output and error stream.
Told = tuple[str, Exit, str, str]


def run_batch(parts: Sequence[Task | Outcome], work: Work, tell: Tell, shared: bool = False) -> Exit:
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


def _here(parts: Sequence[Task | Outcome], work: Work, tell: Tell) -> Iterator[Told]:
    for part in parts:
        outcome = guarded(part, work) if isinstance(part, Task) else part
        tell(outcome)
        yield outcome.name, outcome.exit, "", ""


def _on_all_processors(parts: Sequence[Task | Outcome], work: Work, tell: Tell, processes: int) -> Iterator[Told]:
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


def _in_process(work: Work, tell: Tell, on_terminal: bool, part: Task | Outcome) -> Told:
    """One part in another process: what it says is kept for the one that speaks."""
    out, err = _Kept(on_terminal), _Kept(on_terminal)
    with redirect_stdout(out), redirect_stderr(err):
        outcome = guarded(part, work) if isinstance(part, Task) else part
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


def guarded(task: Task, work: Work) -> Outcome:
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


# From a job file to the parts and quantities that it lists.


@dataclass(frozen=True, slots=True)
class Job:
    """A job file, with the place of everything that it says."""

    source: Source
    document: JobDocument


def job_of(files: list[str]) -> Job | None:
    """The job when one job file is named; None for descriptions. Raises InputFaults."""
    from bracketgen.shop.order import is_job_file, read_job_file

    jobs = []
    for file in files:
        try:
            text = read_text(file, "description")
            if is_job_file(text, file):
                jobs.append((file, text))
        except InputFaults:
            # What is wrong with a description is told where the part is made, beside the other parts.
            continue
    if not jobs:
        return None
    if len(files) > 1:
        what = "a job file stands beside other files"
        raise InputFaults([Fault(Place(jobs[0][0]), what, "name the job file alone, or descriptions only")])
    return Job(*read_job_file(jobs[0][1], jobs[0][0]))


def job_stem(file: str) -> str:
    """What a job's own files are named after: `truck` for truck.job.toml; empty where no name can be made."""
    from bracketgen.description.family import part_name

    return part_name(Path(file).stem.removesuffix(".job"))


def job_parts(job: Job) -> list[tuple[Task | Outcome, int]]:
    """Every part of the job with its quantity. A description used twice with other values gets a number.

    What the job itself says wrongly, a missing file or a value, is told at its place in the job.
    """
    folder = Path(job.source.file).parent
    names: Counter[str] = Counter()
    parts: list[tuple[Task | Outcome, int]] = []
    for number, table in enumerate(job.document.parts):
        file = str(folder / table.file)
        settings = tuple(f"{key}={value}" for key, value in table.set.items())
        row = _row(job, number)
        if not is_file(file):
            parts.append((Outcome("", faults=(_no_file(job, number, file),)), table.quantity))
            continue
        for one in gather(Request((file,), settings)):
            placed = replace(one, faults=row.placed(one.faults, file)) if isinstance(one, Outcome) else _of(one, row)
            parts.append((_numbered(placed, names), table.quantity))
    return parts


def _row(job: Job, number: int) -> Member:
    """The values that a part of the job sets, as a row of a family: faults of them stand at their places."""
    from bracketgen.description.family import Cell, Member

    table = job.document.parts[number]
    path = ("parts", number, "set")
    cells = {key: Cell(str(value), job.source.at((*path, key))) for key, value in table.set.items()}
    return Member("", job.source.at(("parts", number, "file")), cells)


def _of(task: Task, row: Member) -> Task:
    return replace(task, member=row) if row.cells else task


def _no_file(job: Job, number: int, file: str) -> Fault:
    here = job.source.at(("parts", number, "file"))
    cure = "it is looked for from the job file's folder"
    if Path(file).is_dir():
        return Fault(here, f"'{job.document.parts[number].file}' is a folder", "name the description in it")
    return Fault(here, f"there is no file '{job.document.parts[number].file}'", cure)


def _numbered(one: Task | Outcome, names: Counter[str]) -> Task | Outcome:
    if isinstance(one, Outcome):
        return one
    names[one.name.lower()] += 1
    number = names[one.name.lower()]
    return one if number == 1 else replace(one, name=f"{one.name}-{number}")
