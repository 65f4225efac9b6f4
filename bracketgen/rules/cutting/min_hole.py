"""Round holes are large enough for the process to cut."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from bracketgen.findings import Finding, Level
from bracketgen.geometry.contour import Circle
from bracketgen.rules.rule import Rule, at, cited, short_of
from bracketgen.rules.subject import Subject

_ID: Final = "min-hole"


def _check(subject: Subject) -> Iterator[Finding]:
    process = subject.part.stock.process
    least = process.minimum_hole_mm(subject.thickness_mm)
    for h in subject.holes:
        cut = h.hole.in_file
        if isinstance(cut, Circle) and short_of(2 * cut.radius, least):
            diameter = 2 * cut.radius
            remedy = f"make it at least {least:g} mm, or mark it only and drill it"
            source = cited(process.source, process.how)
            yield Finding(_ID, Level.FAIL, h.id, diameter, least, "mm", at(h.centre), remedy, source)


RULE = Rule(_ID, "No round hole is smaller than the process can cut in this thickness", "the process table", _check)
