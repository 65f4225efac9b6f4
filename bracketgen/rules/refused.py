"""Parts whose failure kills are not made here: their names are read, and the user's own word where it may count."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

from bracketgen.findings import Finding, Level
from bracketgen.part.part import GivenName, Part
from bracketgen.rules.engine import NO_SOURCE, Rule, cited
from bracketgen.rules.subject import Subject
from bracketgen.standards.refused import REFUSED_PART, RefusedRow, Suspect, suspects

#: Who may say that such a part holds.
_ASK: Final = "ask a certifying engineer, or the approval body where the vehicle is registered"


def refused_findings(names: Iterable[GivenName], means: str) -> Iterator[Finding]:
    """What the names tell of, each kind of part once; `means` is the user's own word for what the part is."""
    told: dict[str, tuple[str, str, Suspect]] = {}
    for place, name, of_a_face in names:
        for suspect in suspects(name, of_a_face):
            known = told.get(suspect.row.kind)
            if known is None or suspect.certain > known[2].certain:
                told[suspect.row.kind] = (place, name, suspect)
    for place, name, suspect in told.values():
        yield _finding(place, name, suspect, means)


def certain_findings(names: Iterable[GivenName]) -> list[Finding]:
    """What the names tell of where no word of the user's can clear it."""
    sure = [given for given in names if any(s.certain for s in suspects(given.name, given.of_a_face))]
    return list(refused_findings(sure, ""))


def _finding(place: str, name: str, suspect: Suspect, means: str) -> Finding:
    row = suspect.row
    said = f"'{suspect.words}' in the {place} \"{name}\""
    if suspect.certain:
        remedy = (
            f"{said} tells of a part that is not made here: {row.kind} ({row.why}). No file is written, and no waiver "
            f"and no 'means' changes that: {_ASK}"
        )
        return REFUSED.finding(Level.FAIL, place, None, None, None, remedy, _codes(row))
    if means:
        remedy = (
            f"{said} can tell of: {row.kind}. Nothing here can see whether it does; this is taken on your word: {means}"
        )
        return TAKEN_ON_WORD.finding(Level.WARN, place, None, None, None, remedy, _codes(row))
    remedy = (
        f"{said} can tell of a part that is not made here: {row.kind} ({row.why}). If it is one, {_ASK}. If it is "
        'none, say at the head of the description what it holds: means = "holds the ..., and no life hangs on it"'
    )
    return REFUSED.finding(Level.FAIL, place, None, None, None, remedy, _codes(row))


def _codes(row: RefusedRow) -> str:
    return cited(row.source, row.how)


def _file_name(part: Part) -> Iterator[GivenName]:
    """A file's name is read for certain words alone: it is no place to describe a part in."""
    if any(suspect.certain for suspect in suspects(part.name)):
        yield GivenName("file name", part.name)


def _refused(subject: Subject) -> Iterator[Finding]:
    part = subject.part
    yield from refused_findings((*part.names, *_file_name(part)), part.means)
    for suspect in suspects(part.means):
        if suspect.certain:
            yield _finding("means", part.means, suspect, "")
    if part.means and not any(suspects(name, of_a_face) for _, name, of_a_face in part.names):
        remedy = f"no name of the part asks for it; it stands on every output all the same: {part.means}"
        yield TAKEN_ON_WORD.finding(Level.NOTE, "means", None, None, None, remedy)


REFUSED: Final = Rule(
    REFUSED_PART,
    "Parts whose failure kills are not made here: `bracketgen show refused`; no waiver reaches this",
    "public codes by kind: `bracketgen show refused`",
    _refused,
)
TAKEN_ON_WORD: Final = Rule(
    "means-taken", "Where a name can tell of a part that is refused, the user's own word for it is told", NO_SOURCE
)
