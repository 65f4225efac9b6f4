"""From what was typed, files, settings and a table, to the parts that are asked for; and how it went with one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from bracketgen.description.family import Member, part_name, read_family
from bracketgen.description.parameters import read_settings, settable
from bracketgen.description.read import read
from bracketgen.errors import Fault, GeometryFault, InputFaults, Place, WriteFault
from bracketgen.findings import Level
from bracketgen.pipeline import Made, Outputs, files_of, work_out
from bracketgen.terminal.exits import Exit
from bracketgen.terminal.named_files import is_file, read_text


@dataclass(frozen=True, slots=True)
class Outcome:
    """One part: what was made of it, or why not.

    `name` is the part's ('' when it never got one), `written` and `set_aside` are paths as shown to a person,
    `trouble` is an internal error in one line. `not_made` names further parts that these faults have stopped.
    `changed` says what is different from the report that lay there, `left` are papers of an earlier run, of which a
    run without a part knows nothing.
    """

    name: str
    made: Made | None = None
    faults: tuple[Fault, ...] = ()
    trouble: str = ""
    written: tuple[str, ...] = ()
    set_aside: tuple[str, ...] = ()
    not_made: tuple[str, ...] = ()
    changed: tuple[str, ...] = ()
    left: tuple[str, ...] = ()

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
class PartRequest:
    """One part to work out: the description's text, and the values set from outside."""

    file: str
    text: str
    name: str
    set_values: dict[str, str] = field(default_factory=dict)
    member: Member | None = None

    def work_out(self) -> Made:
        """The part with its findings. Raises InputFaults, with faults of a table's values at their cells."""
        folder = str(Path(self.file).parent)
        try:
            return work_out(self.text, self.file, self.name, self.set_values, folder)
        except InputFaults as error:
            if self.member is None:
                raise
            raise InputFaults(self.member.placed(error.faults, self.file)) from None

    def files_of(self, made: Made, outputs: Outputs) -> dict[str, bytes]:
        """The part's files by name. Raises InputFaults, and WriteFault for what is not the description's fault."""
        try:
            with self.model_faults(", or leave step, stl, 3mf and glb out of --only"):
                return files_of(made, outputs)
        except WriteFault as error:
            # What only a waiver let come so far is the description's fault, not ours.
            if made.failed or not any(f.level is Level.FAIL for f in made.findings):
                raise
            what = f"no machine can cut this, waived or not: {' '.join(str(error).split())}"
            raise InputFaults([Fault(Place(self.file), what, "take the waiver out and follow its rule")]) from None

    @contextmanager
    def model_faults(self, way_round: str = "") -> Iterator[None]:
        """A part that is no solid has no model: InputFaults of its description. `way_round` stands after the cure."""
        try:
            yield
        except GeometryFault as error:
            what = f"there is no 3D model of this part: {error}"
            raise InputFaults([Fault(Place(self.file), what, error.cure + way_round)]) from None


def gather(
    files: Sequence[str], settings: Sequence[str] | None = None, table: str | None = None
) -> list[PartRequest | Outcome]:
    """Every part that is asked for, in order; where one can't even begin, the outcome that says why.

    `settings` are `name=value` as typed, `table` the file of a family.
    """
    values, faults = read_settings(list(settings or ()))
    if table is not None and len(files) != 1:
        what = f"a table makes a family of one description, but {len(files)} files are named"
        faults.append(Fault(Place("--table"), what, "name one file"))
    if faults:
        return [Outcome("", faults=tuple(faults))]
    if table is not None:
        return _family(files[0], values, table)
    return list(_named_apart([_single(file, values) for file in files]))


def _single(file: str, settings: dict[str, str]) -> PartRequest | Outcome:
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
    return PartRequest(file, text, name, {key: can.with_unit(key, value) for key, value in settings.items()})


def _named_apart(found: list[PartRequest | Outcome]) -> Iterator[PartRequest | Outcome]:
    """The same, but a part whose files another part of this run has taken is a fault."""
    taken: dict[str, str] = {}
    for one in found:
        if isinstance(one, PartRequest):
            first = taken.setdefault(one.name.lower(), one.file)
            if first is not one.file:
                what = f"its files would be named '{one.name}' like those of {first}"
                # Without a name nothing that the first of the two writes is touched.
                yield Outcome("", faults=(Fault(Place(one.file), what, "rename one, or use --out for each"),))
                continue
        yield one


def _family(file: str, settings: dict[str, str], table: str) -> list[PartRequest | Outcome]:
    """A part a row; faults that stop all of them are told once."""
    base = _single(file, settings)
    faults = base.faults if isinstance(base, Outcome) else ()
    if isinstance(base, PartRequest):
        try:
            # What is wrong in the description itself, before any row changes it.
            read(base.text, base.file, base.set_values)
        except InputFaults as error:
            faults = error.faults
    try:
        family = read_family(read_text(table, "table"), table)
    except InputFaults as error:
        return [Outcome("", faults=(*faults, *error.faults))]
    if isinstance(base, PartRequest) and not faults:
        can = settable(base.text, base.file)
        unknown = [can.fault(cell.text, cell.place) for cell in family.columns]
        twice = [
            Fault(cell.place, f"'{cell.text}' is set by --set too", "keep one of the two")
            for cell in family.columns
            if cell.text in settings
        ]
        faults = (*(fault for fault in unknown if fault), *twice)
    if isinstance(base, Outcome) or faults:
        return [Outcome("", faults=(*faults, *family.faults), not_made=tuple(m.name for m in family.members))]
    parts: list[PartRequest | Outcome] = []
    for member in family.members:
        values = {key: can.with_unit(key, text) for key, text in member.values.items()}
        parts.append(PartRequest(base.file, base.text, member.name, base.set_values | values, member))
    return [*parts, Outcome("", faults=family.faults)] if family.faults else parts
