"""From a job file to the parts and quantities that it lists."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from pathlib import Path

from bracketgen.description.family import Member, part_name
from bracketgen.description.text import Source
from bracketgen.errors import Cell, Fault, InputFaults, Place
from bracketgen.shop.order import JobDocument, is_job_file, read_job_file
from bracketgen.terminal.named_files import is_file, read_text
from bracketgen.terminal.parts import Outcome, PartRequest, gather


def job_of(files: list[str]) -> tuple[Source, JobDocument] | None:
    """The job when one job file is named; None for descriptions. Raises InputFaults."""
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
    return read_job_file(jobs[0][1], jobs[0][0])


def job_stem(file: str) -> str:
    """What a job's own files are named after: `truck` for truck.job.toml; empty where no name can be made."""
    return part_name(Path(file).stem.removesuffix(".job"))


def job_parts(source: Source, job: JobDocument) -> list[tuple[PartRequest | Outcome, int]]:
    """Every part of the job with its quantity. A description used twice with other values gets a number.

    What the job itself says wrongly, a missing file or a value, is told at its place in `source`.
    """
    times: Counter[str] = Counter()
    parts: list[tuple[PartRequest | Outcome, int]] = []
    for number, table in enumerate(job.parts):
        file = str(Path(source.file).parent / table.file)
        here = source.at(("parts", number, "file"))
        if not is_file(file):
            fault = Fault(here, f"there is no file '{table.file}'", "it is looked for from the job file's folder")
            if Path(file).is_dir():
                fault = Fault(here, f"'{table.file}' is a folder", "name the description in it")
            parts.append((Outcome("", faults=(fault,)), table.quantity))
            continue
        # The values set here are a row of a family: faults of them stand at their places.
        cells = {key: Cell(str(value), source.at(("parts", number, "set", key))) for key, value in table.set.items()}
        row = Member("", here, cells)
        for one in gather([file], [f"{key}={value}" for key, value in table.set.items()]):
            if isinstance(one, Outcome):
                parts.append((replace(one, faults=row.placed(one.faults, file)), table.quantity))
                continue
            times[one.name.lower()] += 1
            count = times[one.name.lower()]
            name = one.name if count == 1 else f"{one.name}-{count}"
            parts.append((replace(one, name=name, member=row if cells else None), table.quantity))
    return parts
