"""Runs every rule over a part and sets the waivers beside what they found."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import cache
from typing import Final

import bracketgen.rules
from bracketgen.bending.flat import Flat
from bracketgen.bending.fold import Folded
from bracketgen.errors import GeometryFault
from bracketgen.findings import Finding, Level
from bracketgen.part.part import Waiver
from bracketgen.rules.in_place import SITE_RULES
from bracketgen.rules.rule import Rule
from bracketgen.rules.subject import Subject
from bracketgen.standards.table import LookupFault

#: The id of the finding about a waiver that does nothing.
WAIVER_UNUSED: Final = "waiver-unused"
#: The subject of a waiver that holds for everything its rule finds.
EVERYTHING: Final = "*"

_RANK: Final = {Level.FAIL: 0, Level.WARN: 1, Level.NOTE: 2}


@cache
def all_rules() -> tuple[Rule, ...]:
    """Every rule, by id. A rule is any module in this room that defines RULE, or RULES for several."""
    rules: list[Rule] = []
    for found in pkgutil.walk_packages(bracketgen.rules.__path__, f"{bracketgen.rules.__name__}."):
        module = importlib.import_module(found.name)
        rules += [module.RULE] if hasattr(module, "RULE") else getattr(module, "RULES", ())
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
    findings = [*also, *(finding for rule in all_rules() for finding in _asked(rule, subject))]
    waivers = flat.part.waivers
    idle = [w for w in waivers if not any(_covers(w, f) for f in findings)]
    findings = [_waived(f, waivers) for f in findings] + [_unused(w) for w in idle]
    return tuple(sorted(findings, key=_order))


def _asked(rule: Rule, subject: Subject) -> Iterator[Finding]:
    """The rule's findings. What can't be judged must not pass for what is in order."""
    try:
        yield from rule.check(subject)
    except (LookupFault, GeometryFault) as fault:
        remedy = f"this could not be judged: {fault}; have a person look at it, then waive it with what was found"
        yield Finding(rule.id, Level.FAIL, "part", None, None, "", None, remedy, rule.source)


def _covers(waiver: Waiver, finding: Finding) -> bool:
    return waiver.rule == finding.rule and waiver.subject in (EVERYTHING, finding.subject)


def _waived(finding: Finding, waivers: tuple[Waiver, ...]) -> Finding:
    for waiver in waivers:
        if _covers(waiver, finding):
            return replace(finding, waived=waiver.reason)
    return finding


def _unused(waiver: Waiver) -> Finding:
    known = sorted({rule.id for rule in all_rules()} | {rule.id for rule in SITE_RULES})
    if waiver.rule in known:
        remedy = f"rule {waiver.rule!r} finds nothing about {waiver.subject!r}; take the waiver out"
    else:
        remedy = f"there is no rule {waiver.rule!r}; the rules are {', '.join(known)}"
    subject = f"{waiver.rule} {waiver.subject}"
    return Finding(WAIVER_UNUSED, Level.WARN, subject, None, None, "", None, remedy, "the description's waivers")


def _order(finding: Finding) -> tuple[int, str, str, tuple[float, float], float, str]:
    return (
        _RANK[finding.level],
        finding.rule,
        finding.subject,
        finding.at_mm or (0.0, 0.0),
        finding.measured or 0.0,
        finding.remedy,
    )
