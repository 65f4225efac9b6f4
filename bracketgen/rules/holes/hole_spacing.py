"""Bolt holes keep their distance from each other."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from bracketgen.findings import Finding, Level
from bracketgen.geometry.gap import locus_gap
from bracketgen.geometry.plane import midpoint
from bracketgen.rules.near import near_pairs
from bracketgen.rules.placed_hole import PlacedHole
from bracketgen.rules.rule import Rule, at, cited, short_of, up_mm
from bracketgen.rules.subject import Subject
from bracketgen.standards.fasteners import EdgeRule, edge_rule

_ID: Final = "hole-spacing"


def _check(subject: Subject) -> Iterator[Finding]:
    holes = subject.fastener_holes
    if len(holes) < 2:
        return
    rule = edge_rule(subject.part.edge_rule)
    limits = [_limits_mm(h, rule) for h in holes]
    boxes = [h.core_box() for h in holes]
    reach = max(most for _least, most in limits)
    for i, j in near_pairs(boxes, [reach] * len(boxes), boxes):
        if i < j:
            # Standards speak of equal holes. For unequal ones the mean of both limits: common practice, no source.
            least, most = ((a + b) / 2 for a, b in zip(limits[i], limits[j], strict=True))
            yield from _judge(holes[i], holes[j], least, most, rule)


def _limits_mm(h: PlacedHole, rule: EdgeRule) -> tuple[float, float]:
    """What the rule asks in the kinder and in the sterner direction of the load."""
    along, across = rule.pitch_mm(h.width_mm, h.bolt_mm), rule.row_pitch_mm(h.width_mm, h.bolt_mm)
    return min(along, across), max(along, across)


def _judge(a: PlacedHole, b: PlacedHole, least: float, most: float, rule: EdgeRule) -> Iterator[Finding]:
    gap = locus_gap(a.core, b.core)
    apart, place = gap.mm, midpoint(gap.here, gap.there)
    subject, source = f"{a.id} and {b.id}", cited(rule.source, rule.how)
    if short_of(apart, least):
        remedy = f"set the holes {up_mm(least - apart)} farther apart"
        yield Finding(_ID, Level.FAIL, subject, apart, least, "mm", at(place), remedy, source)
    elif short_of(apart, most):
        remedy = (
            f"set the holes {up_mm(most - apart)} farther apart, unless the load runs so that {least:.1f} mm is enough"
        )
        yield Finding(_ID, Level.WARN, subject, apart, most, "mm", at(place), remedy, source)


RULE = Rule(
    _ID,
    "From bolt hole to bolt hole, centre to centre: not less than the edge distance rule asks",
    "the edge distance table, row named by the description",
    _check,
)
