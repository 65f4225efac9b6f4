"""A bend that ends inside the outline has a relief, so that the sheet does not tear."""

from __future__ import annotations

import math
from collections.abc import Iterator
from enum import Enum
from itertools import takewhile
from typing import Final

from bracketgen.bending.flat import Strip
from bracketgen.findings import Finding, Level
from bracketgen.geometry.contour import Edge
from bracketgen.geometry.inside import ChainSet
from bracketgen.geometry.line import Line
from bracketgen.geometry.point import Point
from bracketgen.rules.bends.band import crossings
from bracketgen.rules.rule import Rule, at, short_of, up_mm
from bracketgen.rules.subject import Subject

_ID: Final = "relief"
_SOURCE: Final = "FAA-H-8083-31, chapter 4: relief holes reach 1/32 to 1/16 in beyond the inside tangent lines"
#: 1/32 in, see the source.
LEAST_REACH_MM: Final = 25.4 / 32
#: How far beside the end of a strip is looked. First nearer than any cut can be made, but farther than noise: there
#: must be no metal. Then on, because a round relief, or a side that slopes away, gets deeper only by and by;
#: at the last a slope of 15 deg to the bend line has reached the limit. Common practice, no source.
_BESIDE_MM: Final = (0.01, 0.1, 0.4, LEAST_REACH_MM, 1.5, LEAST_REACH_MM / math.tan(math.radians(15.0)) + 0.01)


def _check(subject: Subject) -> Iterator[Finding]:
    flat = subject.flat
    if not flat.strips:
        return
    edges = [e for chain in (flat.outline, *flat.openings) for e in chain.edges]
    ends = [(s, end) for s in flat.strips for end in _End]
    beside = [s.placement.point(Point(end.x(s, by), s.metal.allowance_mm / 2)) for s, end in ends for by in _BESIDE_MM]
    held = ChainSet([flat.outline, *flat.openings]).hold(beside)
    metal = iter([in_outline and not any(in_openings) for in_outline, *in_openings in held.tolist()])
    for strip, end in ends:
        free = list(takewhile(lambda by: not by[1], [(by, next(metal)) for by in _BESIDE_MM]))
        reach = [_reach_mm(strip, end.x(strip, by), edges) for by, _ in free]
        yield from _judge(strip, end, max(reach) if reach and short_of(0.0, reach[0]) else 0.0)


class _End(Enum):
    """The two ends of a strip, seen with the child ahead."""

    LEFT = "left end"
    RIGHT = "right end"

    def x(self, strip: Strip, beside_mm: float) -> float:
        """The place in the strip's frame that lies outside this end."""
        return -beside_mm if self is _End.LEFT else strip.bend.width_mm + beside_mm


def _reach_mm(strip: Strip, x: float, edges: list[Edge]) -> float:
    """How far the free space beside a strip's end reaches past the tangent lines, the lesser of both."""
    middle = strip.metal.allowance_mm / 2
    ray = strip.line_at(middle)
    into_strip = strip.placement.inverse()
    reach = float("inf")
    for e in edges:
        if _misses(e, strip, ray, x):
            continue
        for p in crossings(e.moved(into_strip), x):
            reach = min(reach, abs(p.y - middle) - middle)
    return reach


def _misses(e: Edge, strip: Strip, ray: Line, x: float) -> bool:
    """Whether an edge's box plainly lies on one side of the line beside the strip's end."""
    origin, along = ray.start, Point(strip.placement.cos, strip.placement.sin)
    x0, y0, x1, y1 = e.bounds()
    centre, half = Point((x0 + x1) / 2, (y0 + y1) / 2), Point((x1 - x0) / 2, (y1 - y0) / 2)
    off = centre.minus(origin).dot(along) - x
    return abs(off) > half.x * abs(along.x) + half.y * abs(along.y) + 1e-6


def _judge(strip: Strip, end: _End, reach: float) -> Iterator[Finding]:
    subject = f"{strip.bend.id}, {end.value}"
    place = at(strip.placement.point(Point(end.x(strip, 0.0), strip.metal.allowance_mm / 2)))
    more = up_mm(LEAST_REACH_MM - reach) if reach < LEAST_REACH_MM else ""
    if not short_of(0.0, reach):
        remedy = f"cut a relief there that reaches {up_mm(LEAST_REACH_MM)} past both tangent lines, or the sheet tears"
        yield Finding(_ID, Level.FAIL, subject, reach, LEAST_REACH_MM, "mm", place, remedy, _SOURCE)
    elif short_of(reach, LEAST_REACH_MM):
        remedy = f"let the relief reach {more} farther past the tangent line"
        yield Finding(_ID, Level.WARN, subject, reach, LEAST_REACH_MM, "mm", place, remedy, _SOURCE)


RULE = Rule(_ID, "At both ends of every bend the metal ends, or a relief passes both tangent lines", _SOURCE, _check)
