"""From a job file to the parts and quantities that it lists."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from bracketgen.app.asking.tasks import Request, Task, gather
from bracketgen.app.asking.text_file import read_text
from bracketgen.app.outcome import Outcome
from bracketgen.errors import Fault, InputFaults, Place

if TYPE_CHECKING:
    from bracketgen.shop.order.job_file import JobDocument


def job_of(files: list[str]) -> JobDocument | None:
    """The job when one job file is named; None for descriptions. Raises InputFaults."""
    from bracketgen.shop.order.job_file import is_job_file, read_job_file

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
    return read_job_file(jobs[0][1], jobs[0][0])[1]


def job_parts(job: JobDocument, file: str) -> list[tuple[Task | Outcome, int]]:
    """Every part of the job with its quantity. A description used twice with other values gets a number."""
    folder = Path(file).parent
    names: Counter[str] = Counter()
    parts: list[tuple[Task | Outcome, int]] = []
    for table in job.parts:
        settings = tuple(f"{key}={value}" for key, value in table.set.items())
        for one in gather(Request((str(folder / table.file),), settings)):
            parts.append((_apart(one, names), table.quantity))
    return parts


def _apart(one: Task | Outcome, names: Counter[str]) -> Task | Outcome:
    if isinstance(one, Outcome):
        return one
    names[one.name.lower()] += 1
    number = names[one.name.lower()]
    return one if number == 1 else replace(one, name=f"{one.name}-{number}")
