"""No hole reaches into the metal that a bend takes."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from bracketgen.bending.flat import Strip
from bracketgen.findings import Finding, Level
from bracketgen.geometry.contour import Cut
from bracketgen.geometry.plane import Point
from bracketgen.rules.bends.band import extremes_in_band
from bracketgen.rules.near import near_pairs
from bracketgen.rules.rule import Rule, at, short_of, up_mm
from bracketgen.rules.subject import Subject
from bracketgen.tolerances import SAME_POINT_MM

_ID: Final = "hole-in-bend"
_SOURCE: Final = "common practice, no source: a hole in a bend tears or pulls oval"


def _check(subject: Subject) -> Iterator[Finding]:
    strips = subject.flat.strips
    if not strips:
        return
    boxes = [s.outline().bounds() for s in strips]
    for i, j in near_pairs([cut.bounds() for _, cut in subject.cuts], [0.0] * len(subject.cuts), boxes):
        name, cut = subject.cuts[i]
        deep, place = reach_into_mm(cut, strips[j])
        if short_of(0.0, deep):
            bend = strips[j].bend.id
            remedy = f"move it {up_mm(deep)} out of {bend!r}, or drill it after bending"
            yield Finding(_ID, Level.FAIL, name, -deep, 0.0, "mm", at(place), remedy, _SOURCE)


def reach_into_mm(cut: Cut, strip: Strip) -> tuple[float, Point]:
    """How far the cut reaches into the strip past the nearer tangent line, 0 when it stays out; and where.

    The place lies in the flat. Only what lies between the ends of the strip counts.
    """
    width, across = strip.bend.width_mm, strip.metal.allowance_mm
    local = cut.contour().moved(strip.placement.inverse())
    points = extremes_in_band(local, SAME_POINT_MM, width - SAME_POINT_MM)
    if not points:
        return 0.0, Point(0.0, 0.0)
    low = min(points, key=lambda p: (p.y, p.x))
    high = max(points, key=lambda p: (p.y, p.x))
    deep, deepest = (high.y, high) if high.y <= across - low.y else (across - low.y, low)
    return max(0.0, deep), strip.placement.point(deepest)


RULE = Rule(_ID, "No hole or opening reaches past a tangent line into a bend", _SOURCE, _check)
