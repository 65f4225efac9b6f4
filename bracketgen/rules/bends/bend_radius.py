"""No bend is so sharp that it cracks."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from bracketgen.bending.flat import Strip
from bracketgen.findings import Finding, Level
from bracketgen.rules.bends.grain import ALONG_DEG, grain_of
from bracketgen.rules.rule import Rule, at, cited, short_of
from bracketgen.rules.subject import Subject
from bracketgen.standards.metals import Grain, minimum_bend_radius
from bracketgen.standards.table import LookupFault

_ID: Final = "bend-radius"
_SOURCE: Final = "the bend radius table, by metal, temper, thickness and rolling direction"
_WAY: Final = {
    Grain.ALONG: f"its bend line is parallel to the rolling direction (within {ALONG_DEG:g} deg)",
    Grain.ACROSS: "its bend line runs across the rolling direction",
    Grain.UNKNOWN: "the rolling direction is not stated, so the worse way is taken",
}


def _check(subject: Subject) -> Iterator[Finding]:
    for strip in subject.flat.strips:
        try:
            yield from _judge(strip, subject)
        except LookupFault as fault:
            remedy = f"no table holds its least radius ({fault}); bend a test strip and look for cracks"
            radius = strip.bend.inside_radius_mm
            place = at(strip.centre_line.middle)
            yield Finding(_ID, Level.WARN, strip.bend.id, radius, None, "mm", place, remedy, _SOURCE)


def _judge(strip: Strip, subject: Subject) -> Iterator[Finding]:
    stock, bend = subject.part.stock, strip.bend
    grain = grain_of(strip, stock.grain_deg)
    limit = minimum_bend_radius(stock.metal.id, stock.thickness_mm, grain, bend.turn_deg)
    if not short_of(bend.inside_radius_mm, limit.radius_mm):
        return
    remedy = f"bend it to at least {limit.radius_mm:g} mm inside; {_WAY[grain]}"
    if grain is Grain.ALONG:
        across = minimum_bend_radius(stock.metal.id, stock.thickness_mm, Grain.ACROSS, bend.turn_deg).radius_mm
        if not short_of(bend.inside_radius_mm, across):
            remedy += "; or turn the part on the sheet"
    place = at(strip.centre_line.middle)
    source = cited(limit.source, limit.how) + (f" ({limit.note})" if limit.note else "")
    yield Finding(_ID, Level.FAIL, bend.id, bend.inside_radius_mm, limit.radius_mm, "mm", place, remedy, source)


RULE = Rule(_ID, "No inside radius is smaller than the metal bears, the way it was rolled", _SOURCE, _check)
