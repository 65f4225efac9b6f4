"""Slots, notches and narrow openings are wide enough for the process to cut."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from bracketgen.findings import Finding, Level
from bracketgen.geometry.plane import midpoint
from bracketgen.rules.facing import Side
from bracketgen.rules.rule import Rule, at, cited, short_of
from bracketgen.rules.subject import Subject
from bracketgen.tolerances import SAME_POINT_MM

_ID: Final = "min-slot"


def _check(subject: Subject) -> Iterator[Finding]:
    process = subject.part.stock.process
    least = process.minimum_slot_mm(subject.thickness_mm)
    remedy = f"make it at least {least:g} mm wide"
    source = cited(process.source, process.how)
    for h in subject.holes:
        width = h.hole.shape.slot_mm
        if width is not None and short_of(width, least):
            yield Finding(_ID, Level.FAIL, h.id, width, least, "mm", at(h.centre), remedy, source)
    for name, facings in subject.facing:
        gap_side = Side.OUTSIDE if name == "outline" else Side.INSIDE
        for f in facings:
            if f.side is gap_side and f.gap.mm > SAME_POINT_MM and short_of(f.gap.mm, least):
                place = at(midpoint(f.gap.here, f.gap.there))
                yield Finding(_ID, Level.FAIL, name, f.gap.mm, least, "mm", place, remedy, source)


RULE = Rule(
    _ID,
    "No slot, notch or opening is narrower than the process can cut in this thickness",
    "the process table",
    _check,
)
