"""Bolt holes keep their distance from every edge."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from bracketgen.findings import Finding, Level
from bracketgen.geometry.gap import Gap
from bracketgen.rules.placed_hole import PlacedHole
from bracketgen.rules.rule import NO_SOURCE, Rule, at, cited, short_of, up_mm
from bracketgen.rules.subject import Subject
from bracketgen.standards.fasteners import EdgeRule, edge_rule
from bracketgen.standards.table import LookupFault

_ID: Final = "hole-edge"
#: Below this many hole diameters the full bearing strength is not reached. Common practice, no source.
_COMFORTABLE_PER_HOLE: Final = 2.0
#: Taken where the user's rule prints nothing for so small a bolt.
_FALLBACK: Final = "EN 1993-1-8"
#: EN 1993-1-8:2005, table 3.3: e3 and e4 of slotted holes, from the axis of the slot or the centre of its end.
_EN_SLOT_PER_HOLE: Final = 1.5


@dataclass(frozen=True, slots=True)
class _Limit:
    least_mm: float
    comfortable_mm: float
    source: str


def _check(subject: Subject) -> Iterator[Finding]:
    holes = subject.fastener_holes
    if not holes:
        return
    rule = edge_rule(subject.part.edge_rule)
    limits = [_limit(h, rule) for h in holes]
    least: dict[int, Gap] = {}
    reach = [max(limit.least_mm, limit.comfortable_mm) for limit in limits]
    for i, edge in subject.edges_near(holes, reach):
        gap = holes[i].gap_to(edge)
        if i not in least or gap.mm < least[i].mm:
            least[i] = gap
    for i, gap in least.items():
        yield from _judge(holes[i], gap, limits[i])


def _limit(h: PlacedHole, rule: EdgeRule) -> _Limit:
    try:
        least, source = _least_mm(h, rule), cited(rule.source, rule.how)
    except LookupFault:
        fallback = edge_rule(_FALLBACK)
        least = _least_mm(h, fallback)
        source = f"{cited(fallback.source, fallback.how)} ({rule.id} prints nothing for so small a bolt)"
    return _Limit(least, _COMFORTABLE_PER_HOLE * h.width_mm, source)


def _least_mm(h: PlacedHole, rule: EdgeRule) -> float:
    least = rule.edge_mm(h.width_mm, h.bolt_mm)
    if h.hole.shape.slot_mm is not None and rule.id.startswith("EN 1993-1-8"):
        least = max(least, _EN_SLOT_PER_HOLE * h.width_mm)
    return least


def _judge(h: PlacedHole, gap: Gap, limit: _Limit) -> Iterator[Finding]:
    place = at(gap.here)
    if short_of(gap.mm, limit.least_mm):
        more = up_mm(limit.least_mm - gap.mm)
        remedy = f"move the hole {more} away from the edge, or leave {more} more metal there; it can tear out"
        yield Finding(_ID, Level.FAIL, h.id, gap.mm, limit.least_mm, "mm", place, remedy, limit.source)
    elif short_of(gap.mm, limit.comfortable_mm):
        more = up_mm(limit.comfortable_mm - gap.mm)
        remedy = f"{more} more metal to the edge would give the hole two diameters; check what it carries"
        yield Finding(_ID, Level.WARN, h.id, gap.mm, limit.comfortable_mm, "mm", place, remedy, NO_SOURCE)


RULE = Rule(
    _ID,
    "From the centre of a bolt hole to any edge: not less than the edge distance rule asks, better 2 diameters",
    "the edge distance table, row named by the description; 2 diameters: common practice, no source",
    _check,
)
