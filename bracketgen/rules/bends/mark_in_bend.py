"""No mark is scored across a bend."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from bracketgen.findings import Finding, Level
from bracketgen.geometry.edge import Line
from bracketgen.geometry.plane import Point
from bracketgen.rules.bends.band import edge_extremes
from bracketgen.rules.rule import NO_SOURCE, Rule, at, short_of, up_mm
from bracketgen.rules.subject import Subject
from bracketgen.tolerances import SAME_POINT_MM

_ID: Final = "mark-in-bend"


def _check(subject: Subject) -> Iterator[Finding]:
    for panel in subject.part.panels:
        marks = [mark.moved(subject.flat.placements[panel.id]) for mark in panel.marks]
        for strip in subject.flat.strips:
            into_strip = strip.placement.inverse()
            for n, mark in enumerate(marks, 1):
                found = _inside(mark.moved(into_strip), strip.bend.width_mm, strip.metal.allowance_mm)
                if found:
                    deep, place = found
                    remedy = f"shorten the mark by {up_mm(deep)} at {strip.bend.id!r}; a scored line starts a crack"
                    subject_name = f"mark {n} of {panel.id}"
                    where = at(strip.placement.point(place))
                    yield Finding(_ID, Level.FAIL, subject_name, deep, 0.0, "mm", where, remedy, NO_SOURCE)


def _inside(mark: Line, width: float, across: float) -> tuple[float, Point] | None:
    """How much of a mark, in the strip's frame, lies between the tangent lines, counted across the bend."""
    points = edge_extremes(mark, -SAME_POINT_MM, width + SAME_POINT_MM)
    if not points:
        return None
    low, high = min(points, key=lambda p: p.y), max(points, key=lambda p: p.y)
    if not (short_of(0.0, high.y) and short_of(low.y, across)):
        return None
    bottom, top = max(0.0, low.y), min(across, high.y)
    return top - bottom, Point((low.x + high.x) / 2, (bottom + top) / 2)


RULE = Rule(_ID, "No mark line runs into the metal that a bend takes", NO_SOURCE, _check)
