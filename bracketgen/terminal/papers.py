"""The papers of one part in a folder: which state of the part each shows, what has changed since, which are stale.

Every file carries the mark of the values that it was made from. One whose mark is not today's is stale: it is set aside
under another name, so that nobody cuts by it.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

from bracketgen.errors import InputFaults
from bracketgen.part.mark import Second, stamped
from bracketgen.pipeline import FAILED, Made, Outputs
from bracketgen.terminal.named_files import folder_faults, set_aside
from bracketgen.terminal.parts import Outcome
from bracketgen.units import plain

DRAWING: Final = "-drawing.pdf"
HAND_WORK: Final = "-hand-work.pdf"
BRAKE: Final = "-brake.pdf"
#: Paper, face and correction stand between this and the ending, so that no sheet is taken for another.
TEMPLATE: Final = "-template-"
#: Changes told one by one. Own choice.
_MOST_TOLD: Final = 8
#: A hole that moved by less is where it was, mm: the report's own rounding.
_MOVED_MM: Final = 1e-6


@dataclass(frozen=True, slots=True)
class PartFile:
    """A file of a part, with its mark and that of what else it was made from; '' and None where it carries none."""

    path: Path
    mark: str
    second: Second


def papers(folder: Path, name: str) -> Iterator[PartFile]:
    """Every file in the folder that shows the part of that name, whichever command wrote it. Raises OSError."""
    endings = [ending for kind in Outputs for ending in kind.endings] + [DRAWING, HAND_WORK, BRAKE]
    for stem in (name, f"{FAILED}{name}"):
        paths = [folder / f"{stem}{ending}" for ending in endings]
        for path in (*paths, *sorted(folder.glob(f"{stem}{TEMPLATE}*.pdf"))):
            if path.is_file():
                yield PartFile(path, *_marks(path))


def _marks(path: Path) -> tuple[str, Second]:
    data = path.read_bytes()
    if path.suffix != ".json":
        return stamped(data)
    value = _report(data)
    site = value.get("site")
    second = str(site.get("mark", "")) if isinstance(site, dict) else ""
    return str(value.get("mark", "")), ("site", second) if second else None


def _report(data: bytes) -> dict[str, Any]:
    """A report as it stands; empty for what is none."""
    try:
        value = json.loads(data)
    except ValueError:
        return {}
    return value if isinstance(value, dict) else {}


def stale(
    folder: Path, made: Made, fresh: Collection[str] = (), others: Mapping[str, str] | None = None
) -> list[PartFile]:
    """The part's papers, but those just written, that show other values than today's. Raises InputFaults.

    `others` are the marks that papers made from more than the part should carry, by name; one that this run knows
    nothing of is not judged.
    """
    seconds = ({"site": made.place.mark} if made.place else {}) | dict(others or {})
    with folder_faults(folder):
        return [
            paper
            for paper in papers(folder, made.job.part.name)
            if paper.path.name not in fresh
            and (
                paper.mark != made.mark
                or (paper.second is not None and seconds.get(paper.second[0], paper.second[1]) != paper.second[1])
            )
        ]


def papers_set_aside(
    outcome: Outcome, folder: Path, others: Mapping[str, str] | None = None, failing: str = ""
) -> Outcome:
    """The same once those of the part's papers that must not look fresh are renamed; or what stood in the way.

    Those are the stale ones, and of a part that failed also those that don't say so in their name and hold `failing`
    there: all, unless it says less. Where no part came out nothing is known of them: they are left, and named.
    """
    if outcome.made is None:
        with suppress(OSError):
            left = [str(paper.path) for name in outcome.names for paper in papers(folder, name)]
            return replace(outcome, left=tuple(left))
        return outcome
    fresh = {Path(path).name for path in outcome.written}
    try:
        found = stale(folder, outcome.made, fresh, others)
        if outcome.made.failed:
            with folder_faults(folder):
                found += [
                    paper
                    for paper in papers(folder, outcome.made.job.part.name)
                    if failing in paper.path.name and not paper.path.name.startswith(FAILED)
                ]
        return replace(outcome, set_aside=set_aside(folder, [paper.path.name for paper in found]))
    except InputFaults as error:
        return replace(outcome, faults=(*outcome.faults, *error.faults))


def stale_words(folder: Path, made: Made) -> list[str]:
    """A line for every stale paper, for a command that writes none of them. Raises InputFaults."""
    return [
        f"{paper.path} shows another state of the part ({paper.mark or 'no mark'}, now {made.mark}): make it again"
        for paper in stale(folder, made)
    ]


# -- what has changed since the report that lies there


def report_before(folder: Path, name: str) -> dict[str, Any]:
    """The report of an earlier run; empty when there is none that can be read."""
    for stem in (name, f"{FAILED}{name}"):
        try:
            return _report((folder / f"{stem}.json").read_bytes())
        except OSError:
            continue
    return {}


def changes(before: Mapping[str, Any], made: Made) -> tuple[str, ...]:
    """What a person changed since that report, in words; nothing without one, or when its mark is today's."""
    if not before or before.get("mark") == made.mark:
        return ()
    told = [*_values_changed(before.get("values") or {}, made.job.values), *_holes_moved(before, made)]
    if not told:
        told = ["figures that the tool or a table named in the description brings"]
    more = len(told) - _MOST_TOLD
    return (*told[:_MOST_TOLD], f"and {more} more") if more > 0 else tuple(told)


def _values_changed(before: Mapping[str, Any], after: Mapping[str, str]) -> Iterator[str]:
    for key in sorted({*before, *after}):
        old, new = before.get(key), after.get(key)
        if old != new:
            yield f"{key} {'not given' if old is None else old} → {'not given' if new is None else new}"


def _holes_moved(before: Mapping[str, Any], made: Made) -> Iterator[str]:
    try:
        places = {str(hole["id"]): (float(hole["panel_mm"][0]), float(hole["panel_mm"][1])) for hole in before["holes"]}
    except (KeyError, TypeError, ValueError, IndexError):
        return
    for placed in made.flat.holes:
        x, y = places.get(placed.hole.id, placed.hole.centre)
        moved = ((placed.hole.centre.x - x) ** 2 + (placed.hole.centre.y - y) ** 2) ** 0.5
        if moved > _MOVED_MM:
            yield f"{placed.hole.id} moved {plain(moved)} mm"
