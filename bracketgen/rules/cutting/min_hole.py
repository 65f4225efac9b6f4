"""Round holes are large enough for the process to cut."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from bracketgen.findings import Finding, Level
from bracketgen.rules.rule import Rule, at, cited, short_of
from bracketgen.rules.subject import Subject

_ID: Final = "min-hole"


def _check(subject: Subject) -> Iterator[Finding]:
    process = subject.part.stock.process
    least = process.minimum_hole_mm(subject.thickness_mm)
    for h in subject.holes:
        diameter = h.hole.bore_in_file_mm
        if diameter is not None and short_of(diameter, least):
            remedy = f"make it at least {least:g} mm, or mark it only and drill it"
            source = cited(process.source, process.how)
            yield Finding(_ID, Level.FAIL, h.id, diameter, least, "mm", at(h.centre), remedy, source)


RULE = Rule(_ID, "No round hole is smaller than the process can cut in this thickness", "the process table", _check)
