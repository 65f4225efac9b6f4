"""What a rule is, and the engine that runs every rule over a part and sets the waivers beside what they found.

A rule is a `Rule` that stands in any module of this room, with the function that checks it; it is found by itself.
"""

from __future__ import annotations

import importlib
import math
import pkgutil
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cache
from typing import Final

import bracketgen.rules
from bracketgen.bending.flat import Flat
from bracketgen.bending.fold import Folded
from bracketgen.errors import GeometryFault
from bracketgen.findings import Finding, Level
from bracketgen.geometry.plane import Point
from bracketgen.part.part import Waiver
from bracketgen.rules.subject import Subject
from bracketgen.standards.refused import REFUSED_PART
from bracketgen.standards.table import LookupFault, citation

#: Said where no publication stands behind a figure.
NO_SOURCE: Final = "common practice, no source"
#: Said where a figure decides that was not read in its source.
DOUBT: Final = "look it up before you rely on it"
#: A measured length this much below its limit is still on the limit: far above the noise of the arithmetic.
SLACK_MM: Final = 1e-6
#: The id of the finding about a waiver that does nothing.
WAIVER_UNUSED: Final = "waiver-unused"
#: The subject of a waiver that holds for everything its rule finds.
EVERYTHING: Final = "*"

_RANK: Final = {Level.FAIL: 0, Level.WARN: 1, Level.NOTE: 2}


@dataclass(frozen=True, slots=True)
class Rule:
    """One thing that can be wrong with a part.

    `id` is what a waiver names, `title` says what is asked for, `source` on whose word. `check` looks at the
    subject and gives a finding for each place where the rule is not kept; None for a rule that is checked only where
    the part is in its place, in the room for vehicles.
    """

    id: str
    title: str
    source: str
    check: Callable[[Subject], Iterable[Finding]] | None = None

    def finding(
        self,
        level: Level,
        subject: str,
        measured: float | None,
        required: float | None,
        at: Point | None,
        remedy: str,
        source: str = "",
        unit: str = "mm",
    ) -> Finding:
        """A finding of this rule at a place of the flat, on its own source unless another is given."""
        unit = "" if measured is None else unit
        place = None if at is None else (at.x, at.y)
        return Finding(self.id, level, subject, measured, required, unit, place, remedy, source or self.source)


def short_of(measured_mm: float, required_mm: float) -> bool:
    """Whether a length is below its limit; a length on the limit is not."""
    return measured_mm < required_mm - SLACK_MM


def up_mm(length_mm: float) -> str:
    """A length for a remedy, rounded up to a tenth of a mm so that following it is enough: '2.3 mm'."""
    return f"{max(1, math.ceil(length_mm * 10 - 1e-6)) / 10:g} mm"


@cache
def cited(source_id: str, how: str) -> str:
    """The citation of a table row, with how the figure was had where it was not read in the source."""
    text = citation(source_id)
    if how == "read" or text == NO_SOURCE:
        return text
    if how == "common practice":
        return NO_SOURCE
    return f"{text if text.startswith('from memory') else f'{text} (from memory)'}: {DOUBT}"


@cache
def all_rules() -> tuple[Rule, ...]:
    """Every rule, by id: whatever `Rule` stands in a module of this room."""
    rules: list[Rule] = []
    for found in pkgutil.walk_packages(bracketgen.rules.__path__, f"{bracketgen.rules.__name__}."):
        rules += [value for value in vars(importlib.import_module(found.name)).values() if isinstance(value, Rule)]
    ids = [rule.id for rule in rules]
    twice = sorted({id_ for id_ in ids if ids.count(id_) > 1})
    if twice:
        raise RuntimeError(f"two rules have the same id: {', '.join(twice)}")
    return tuple(sorted(rules, key=lambda rule: rule.id))


def run_rules(flat: Flat, folded: Folded, also: Iterable[Finding] = ()) -> tuple[Finding, ...]:
    """What all rules find, the worst first, waived ones with the reason.

    `also` are findings of earlier stations; they are waived and sorted like the others. A waiver that changes
    nothing is a finding itself.
    """
    subject = Subject(flat, folded)
    waivers = flat.part.waivers
    findings = [*also, *(finding for rule in all_rules() for finding in _asked(rule, subject))]
    idle = [_unused(waiver) for waiver in waivers if not any(_covers(waiver, f) for f in findings)]
    for i, f in enumerate(findings):
        reason = next((waiver.reason for waiver in waivers if _covers(waiver, f)), f.waived)
        findings[i] = replace(f, waived=reason)
    return tuple(sorted([*findings, *idle], key=_order))


def _asked(rule: Rule, subject: Subject) -> Iterator[Finding]:
    """The rule's findings. What can't be judged must not pass for what is in order."""
    try:
        yield from rule.check(subject) if rule.check else ()
    except (LookupFault, GeometryFault) as fault:
        remedy = f"this could not be judged: {fault}; have a person look at it, then waive it with what was found"
        yield rule.finding(Level.FAIL, "part", None, None, None, remedy)


def _covers(waiver: Waiver, finding: Finding) -> bool:
    return waiver.rule == finding.rule != REFUSED_PART and waiver.subject in (EVERYTHING, finding.subject)


def _unused(waiver: Waiver) -> Finding:
    known = [rule.id for rule in all_rules()]
    if waiver.rule == REFUSED_PART:
        remedy = "no waiver reaches this rule; take it out"
    elif waiver.rule in known:
        remedy = f"rule {waiver.rule!r} finds nothing about {waiver.subject!r}; take the waiver out"
    else:
        remedy = f"there is no rule {waiver.rule!r}; the rules are {', '.join(known)}"
    subject = f"{waiver.rule} {waiver.subject}"
    return Finding(WAIVER_UNUSED, Level.WARN, subject, None, None, "", None, remedy, "the description's waivers")


def _order(finding: Finding) -> tuple[int, str, str, tuple[float, float], float, str]:
    at, measured = finding.at_mm or (0.0, 0.0), finding.measured or 0.0
    return (_RANK[finding.level], finding.rule, finding.subject, at, measured, finding.remedy)
