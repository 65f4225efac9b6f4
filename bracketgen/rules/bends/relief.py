"""A bend that ends inside the outline has a relief, so that the sheet does not tear."""

from __future__ import annotations

import math
from collections.abc import Iterator
from enum import Enum
from itertools import takewhile
from typing import Final

from bracketgen.bending.flat import Strip
from bracketgen.findings import Finding, Level
from bracketgen.geometry.contour import ChainSet, Edge
from bracketgen.geometry.plane import Point
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
    in_strip = {s.bend.id: _moved(edges, s) for s in flat.strips}
    for strip, end in ends:
        free = [by for by, _ in takewhile(lambda pair: not pair[1], [(by, next(metal)) for by in _BESIDE_MM])]
        yield from _judge(strip, end, _deepest_mm(strip, end, free, in_strip[strip.bend.id]))


def _moved(edges: list[Edge], strip: Strip) -> list[tuple[float, float, Edge]]:
    """The edges in the strip's frame, each with the least and greatest x of its box."""
    into_strip = strip.placement.inverse()
    moved = [e.moved(into_strip) for e in edges]
    return [(box[0], box[2], e) for e, box in ((e, e.bounds()) for e in moved)]


class _End(Enum):
    """The two ends of a strip, seen with the child ahead."""

    LEFT = "left end"
    RIGHT = "right end"

    def x(self, strip: Strip, beside_mm: float) -> float:
        """The place in the strip's frame that lies outside this end."""
        return -beside_mm if self is _End.LEFT else strip.bend.width_mm + beside_mm


def _deepest_mm(strip: Strip, end: _End, beside_mm: list[float], edges: list[tuple[float, float, Edge]]) -> float:
    """How far the free space reaches past the tangent lines: 0 without any, else as soon as it is enough."""
    deepest = 0.0
    for by in beside_mm:
        reach = _reach_mm(strip.metal.allowance_mm / 2, end.x(strip, by), edges)
        if by == beside_mm[0] and not short_of(0.0, reach):
            return 0.0
        deepest = max(deepest, reach)
        if not short_of(deepest, LEAST_REACH_MM):
            break
    return deepest


def _reach_mm(middle: float, x: float, edges: list[tuple[float, float, Edge]]) -> float:
    """How far the free space at `x`, around the strip's middle, reaches past the nearer tangent line."""
    across = [p.y for low, high, e in edges if low <= x <= high for p in crossings(e, x)]
    return min((abs(y - middle) - middle for y in across), default=float("inf"))


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
