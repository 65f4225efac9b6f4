"""The thickness lies within what the process's tolerances are printed for."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from bracketgen.findings import Finding, Level
from bracketgen.rules.rule import Rule
from bracketgen.rules.subject import Subject

_ID: Final = "process-thickness"
_SLACK_MM: Final = 1e-6


def _check(subject: Subject) -> Iterator[Finding]:
    process, t = subject.part.stock.process, subject.thickness_mm
    if process.thickness_mm is None:
        return
    low, high = process.thickness_mm
    if low - _SLACK_MM <= t <= high + _SLACK_MM:
        return
    limit = low if t < low else high
    remedy = f"{process.tolerance_table} covers {low:g} to {high:g} mm for {process.id}; ask the shop what it can hold"
    source = f"{process.tolerance_table}, scope"
    yield Finding(_ID, Level.WARN, "stock", t, limit, "mm", None, remedy, source)


RULE = Rule(_ID, "The thickness lies in the scope of the process's tolerance standard", "the process table", _check)
