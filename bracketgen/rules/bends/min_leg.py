"""Both legs of a bend are long enough to rest on the die."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from bracketgen.bending.flat import Strip
from bracketgen.bending.setback import outside_setback_mm
from bracketgen.findings import Finding, Level
from bracketgen.geometry.plane import Placement, Point
from bracketgen.rules.bends.band import edge_extremes
from bracketgen.rules.rule import Rule, at, cited, short_of, up_mm
from bracketgen.rules.subject import Subject
from bracketgen.standards.machines import dies, usual_die
from bracketgen.standards.table import LookupFault
from bracketgen.tolerances import SAME_POINT_MM

_ID: Final = "min-leg"
#: Part of the bend's width at either end that is left out, so that rounded corners of a leg don't count as a
#: short leg. Common practice, no source.
_CORNER_SHARE: Final = 0.1


def _check(subject: Subject) -> Iterator[Finding]:
    for strip in subject.flat.strips:
        bend = strip.bend
        if bend.minimum_leg_mm is not None:
            declared, least = Level.FAIL, bend.minimum_leg_mm
        else:
            declared, least = Level.WARN, _usual_leg_mm(subject.thickness_mm)
        for panel in (bend.parent, bend.child):
            yield from _judge(subject, strip, panel, least, declared)


def _usual_leg_mm(thickness_mm: float) -> float:
    """Shortest leg on the usual die; 0 where the chart has none, because then nothing can be said."""
    try:
        return usual_die(thickness_mm).minimum_flange_mm
    except LookupFault:
        return 0.0


def _judge(subject: Subject, strip: Strip, panel: str, least: float, level: Level) -> Iterator[Finding]:
    bend = strip.bend
    flat_mm, place = shortest_flat_mm(subject, strip, panel)
    leg = flat_mm + outside_setback_mm(bend.inside_radius_mm, subject.thickness_mm, bend.turn_deg)
    if not short_of(leg, least):
        return
    tool = "the declared tooling" if level is Level.FAIL else f"the usual die for {subject.thickness_mm:g} mm"
    remedy = (
        f"make panel {panel!r} {up_mm(least - leg)} longer at {bend.id!r} and trim it after bending, "
        f"or bend it with a smaller die: {tool} needs {least:g} mm over the outside"
    )
    source = cited(dies()[0].source, dies()[0].how)
    yield Finding(_ID, level, f"{bend.id}, {panel}", leg, least, "mm", at(place), remedy, source)


def shortest_flat_mm(subject: Subject, strip: Strip, panel: str) -> tuple[float, Point]:
    """From a panel's tangent line square to its nearest edge across the bend, over the middle of the bend's width.

    The length in mm, and the place of that edge in the flat.
    """
    width, across = strip.bend.width_mm, strip.metal.allowance_mm
    own = strip.placement
    if panel == strip.bend.parent:
        # Looked at from the other side, so that the panel lies above its tangent line.
        own = Placement(Point(width, 0.0), -1.0, 0.0).then(own)
        across = 0.0
    outline = subject.part.panel(panel).outline.moved(subject.flat.placements[panel]).moved(own.inverse())
    margin = _CORNER_SHARE * width
    points = [
        p
        for e in outline.edges
        if max(e.bounds()[1], e.bounds()[3]) > across + SAME_POINT_MM
        for p in edge_extremes(e, margin, width - margin)
        if p.y > across - SAME_POINT_MM
    ]
    nearest = min(points, key=lambda p: (p.y, p.x))
    return nearest.y - across, own.point(nearest)


RULE = Rule(
    _ID,
    "Both legs of every bend, over the outside, are as long as the tooling needs",
    "the die chart, or the tooling that the description declares",
    _check,
)
