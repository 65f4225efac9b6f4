"""From what was typed to the parts that are asked for: files, settings, rows of a table."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from bracketgen.app.asking.text_file import is_file, read_text
from bracketgen.app.outcome import Outcome
from bracketgen.errors import Fault, InputFaults, Place

if TYPE_CHECKING:
    from bracketgen.description.family import Family, Member
    from bracketgen.pipeline import Made


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
    from bracketgen.description.overrides import read_settings

    settings, faults = read_settings(list(request.settings))
    if request.table is not None and len(request.files) != 1:
        what = f"a table makes a family of one description, but {len(request.files)} files are named"
        faults.append(Fault(Place("--table"), what, "name one file"))
    if faults:
        return [Outcome("", faults=tuple(faults))]
    if request.table is not None:
        return _family(request.files[0], settings, request.table)
    return list(_apart([_single(file, settings) for file in request.files]))


def _single(file: str, settings: dict[str, str]) -> Task | Outcome:
    from bracketgen.description.overrides import settable
    from bracketgen.description.part_name import part_name

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


def _apart(found: list[Task | Outcome]) -> Iterator[Task | Outcome]:
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
    from bracketgen.description.overrides import settable

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
