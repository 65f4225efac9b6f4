"""From a job file to the parts and quantities that it lists."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from bracketgen.app.asking.tasks import Request, Task, gather
from bracketgen.app.asking.text_file import is_file, read_text
from bracketgen.app.outcome import Outcome
from bracketgen.errors import Fault, InputFaults, Place

if TYPE_CHECKING:
    from bracketgen.description.family import Member
    from bracketgen.description.read import Source
    from bracketgen.shop.order import JobDocument


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
    from bracketgen.description.part_name import part_name

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
            parts.append((_apart(placed, names), table.quantity))
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


def _apart(one: Task | Outcome, names: Counter[str]) -> Task | Outcome:
    if isinstance(one, Outcome):
        return one
    names[one.name.lower()] += 1
    number = names[one.name.lower()]
    return one if number == 1 else replace(one, name=f"{one.name}-{number}")
