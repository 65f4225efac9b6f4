"""Holes keep far enough from a bend not to be pulled oval."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from bracketgen.findings import Finding, Level
from bracketgen.geometry.contour import Contour
from bracketgen.geometry.gap import cut_gap
from bracketgen.geometry.plane import Placement
from bracketgen.rules.bends.hole_in_bend import reach_into_mm
from bracketgen.rules.placed_hole import PlacedHole
from bracketgen.rules.rule import Rule, at, cited, short_of, up_mm
from bracketgen.rules.subject import Subject, Tangent
from bracketgen.standards.machines import dies

_ID: Final = "hole-bend"
_SOURCE: Final = (
    "common practice, no source: round holes 1 1/2 t from the tangent line; with an edge along the bend 2 t up to "
    "1 in long, 2 1/2 t up to 2 in, 3 t beyond"
)
#: The same practice: (longest edge along the bend in mm, distance in thicknesses).
_ROUND_PER_T: Final = 1.5
_STRAIGHT_PER_T: Final = ((25.4, 2.0), (50.8, 2.5), (float("inf"), 3.0))


def _check(subject: Subject) -> Iterator[Finding]:
    for h in subject.holes:
        for tangent in subject.tangents.get(h.panel, ()):
            yield from _judge(h, tangent, subject)


def _judge(h: PlacedHole, tangent: Tangent, subject: Subject) -> Iterator[Finding]:
    bend = tangent.strip.bend
    oval = _per_t(h, tangent) * subject.thickness_mm
    opening = bend.die_mm or 0.0
    reach = max(oval, opening / 2)
    gap = cut_gap(h.cut, Contour((tangent.line,)))
    if not short_of(gap.mm, reach) or reach_into_mm(h.cut, tangent.strip)[0] > 0:
        return
    if short_of(gap.mm, oval):
        more = up_mm(oval - gap.mm)
        remedy = f"move it {more} away from {bend.id!r}, or drill it after bending; it would be pulled oval"
        yield Finding(_ID, Level.FAIL, h.id, gap.mm, oval, "mm", at(gap.here), remedy, _SOURCE)
    elif short_of(gap.mm, opening / 2):
        more = up_mm(opening / 2 - gap.mm)
        remedy = f"it lies over the V of {opening:g} mm at {bend.id!r}: move it {more} away, or check it after bending"
        chart = cited(dies()[0].source, dies()[0].how)
        yield Finding(_ID, Level.WARN, h.id, gap.mm, opening / 2, "mm", at(gap.here), remedy, chart)


def _per_t(h: PlacedHole, tangent: Tangent) -> float:
    along = _straight_along_mm(h, tangent)
    if along <= 0:
        return _ROUND_PER_T
    return next(per_t for longest, per_t in _STRAIGHT_PER_T if not short_of(longest, along))


def _straight_along_mm(h: PlacedHole, tangent: Tangent) -> float:
    """How much of the hole's edge runs along the bend: 0 for what is pulled like a round hole."""
    along = Placement.along(tangent.line.start, tangent.line.end).inverse()
    x0, y0, x1, y1 = h.cut.moved(along).bounds()
    return h.hole.shape.along_bend_mm(x1 - x0, y1 - y0)


RULE = Rule(_ID, "From the edge of a hole to the tangent line of a bend: enough that it stays round", _SOURCE, _check)
