"""Rules about bends, and about holes and marks near them.

In a strip's own frame the tangent lines run along x, the parent's at y = 0 and the child's above it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from enum import Enum
from itertools import takewhile
from typing import Final

from bracketgen.bending.flat import Strip
from bracketgen.bending.setback import outside_setback_mm
from bracketgen.findings import Finding, Level
from bracketgen.geometry.contour import ChainSet, Contour, Cut, Edge
from bracketgen.geometry.crossing import line_circle
from bracketgen.geometry.edge import Arc, Line
from bracketgen.geometry.gap import cut_gap, near_pairs
from bracketgen.geometry.plane import Placement, Point
from bracketgen.rules.engine import NO_SOURCE, Rule, cited, short_of, up_mm
from bracketgen.rules.subject import PlacedHole, Subject, Tangent
from bracketgen.standards.machines import dies, usual_die
from bracketgen.standards.metals import BendRadiusLimit, Grain, minimum_bend_radius
from bracketgen.standards.table import LookupFault, citation
from bracketgen.tolerances import SAME_POINT_MM
from bracketgen.units import INCH_MM


def _extremes(edge: Edge, x0: float, x1: float) -> list[Point]:
    """What can be an edge's lowest or highest point with x0 <= x <= x1: ends, crossings, an arc's top and bottom."""
    points = [p for p in (edge.start, edge.end) if x0 <= p.x <= x1]
    for x in (x0, x1):
        points += _crossings(edge, x)
    if isinstance(edge, Arc):
        for turn in (math.pi / 2, -math.pi / 2):
            p = Point(edge.centre.x, edge.centre.y + math.copysign(edge.radius, turn))
            if x0 <= p.x <= x1 and edge.holds(p, 0.0):
                points.append(p)
    return points


def _crossings(edge: Edge, x: float) -> list[Point]:
    """Where the edge crosses the upright line at `x`; an edge that runs along that line gives none."""
    if isinstance(edge, Line):
        a, b = edge.start, edge.end
        if (a.x - x) * (b.x - x) > 0 or a.x == b.x:
            return []
        return [Point(x, a.y + (b.y - a.y) * (x - a.x) / (b.x - a.x))]
    return [p for p in line_circle(Point(x, 0.0), Point(0.0, 1.0), edge.centre, edge.radius) if edge.holds(p, 1e-9)]


# -- the least radius, and the rolling direction on which it depends

#: A bend line this near to the rolling direction, or nearer, counts as along it. Common practice, no source.
_ALONG_DEG: Final = 45.0


def _grain_of(strip: Strip, grain_deg: float | None) -> Grain:
    """Along, across or unknown; `grain_deg` as in the stock, anticlockwise from +x of the flat."""
    if grain_deg is None:
        return Grain.UNKNOWN
    heading = strip.placement.direction(Point(1.0, 0.0))
    apart = abs(math.degrees(math.atan2(heading.y, heading.x)) - grain_deg) % 180.0
    return Grain.ALONG if min(apart, 180.0 - apart) <= _ALONG_DEG + 1e-9 else Grain.ACROSS


_WAY: Final = {
    Grain.ALONG: f"its bend line is parallel to the rolling direction (within {_ALONG_DEG:g} deg)",
    Grain.ACROSS: "its bend line runs across the rolling direction",
    Grain.UNKNOWN: "the rolling direction is not stated, so the worse way is taken",
}


def _bend_radius(subject: Subject) -> Iterator[Finding]:
    for strip in subject.flat.strips:
        try:
            yield from _judge_bend_radius(strip, subject)
        except LookupFault as fault:
            remedy = f"no table holds its least radius ({fault}); bend a test strip and look for cracks"
            bend, place = strip.bend, strip.centre_line.middle
            yield BEND_RADIUS.finding(Level.WARN, bend.id, bend.inside_radius_mm, None, place, remedy)


def _judge_bend_radius(strip: Strip, subject: Subject) -> Iterator[Finding]:
    stock, bend = subject.part.stock, strip.bend
    grain = _grain_of(strip, stock.grain_deg)
    limit = minimum_bend_radius(stock.metal.id, stock.thickness_mm, grain, bend.turn_deg)
    if not short_of(bend.inside_radius_mm, limit.radius_mm):
        return
    across = minimum_bend_radius(stock.metal.id, stock.thickness_mm, Grain.ACROSS, bend.turn_deg)
    remedy = f"bend it to at least {limit.radius_mm:.4g} mm inside{_die_for(limit.radius_mm)}; {_WAY[grain]}"
    if grain is Grain.ALONG and not short_of(bend.inside_radius_mm, across.radius_mm):
        remedy += "; or turn the part on the sheet"
    level = Level.FAIL
    published = any(one.how != _HABIT and short_of(bend.inside_radius_mm, one.radius_mm) for one in (limit, across))
    if not published and not short_of(bend.inside_radius_mm, _usual_radius_mm(stock.thickness_mm)):
        level = Level.WARN
        remedy += "; no standard forbids it over the usual die: bend a strip of this sheet first and look for cracks"
    place = strip.centre_line.middle
    yield BEND_RADIUS.finding(
        level, bend.id, bend.inside_radius_mm, limit.radius_mm, place, remedy, _on_whose_word(limit, across)
    )


#: How a figure was had that no publication sets as a limit for this metal.
_HABIT: Final = "common practice"


def _on_whose_word(limit: BendRadiusLimit, across: BendRadiusLimit) -> str:
    """The source of a limit; what a trade took over from a publication, or adds to it along, names it too."""
    said = _taken_over(limit)
    if citation(limit.source) == NO_SOURCE and citation(across.source) != NO_SOURCE:
        said = f"{_taken_over(across)}; more along the rolling direction: {NO_SOURCE}"
    return said + (f" ({limit.note})" if limit.note else "")


def _taken_over(limit: BendRadiusLimit) -> str:
    if limit.how == _HABIT and citation(limit.source) != NO_SOURCE:
        return f"{citation(limit.source)}; taken over by common practice, no standard"
    return cited(limit.source, limit.how)


def _die_for(radius_mm: float) -> str:
    """Which V of the chart leaves such a radius; '' where the chart ends before it."""
    wide = next((one for one in dies() if not short_of(one.natural_radius_mm, radius_mm)), None)
    return f" (a V of {wide.opening_mm:g} mm leaves {wide.natural_radius_mm:g} mm in mild steel)" if wide else ""


def _usual_radius_mm(thickness_mm: float) -> float:
    """What the usual die leaves; endless where the chart has none, because then no die is usual."""
    try:
        return usual_die(thickness_mm).natural_radius_mm
    except LookupFault:
        return math.inf


BEND_RADIUS: Final = Rule(
    "bend-radius",
    "No inside radius is smaller than the metal bears, the way it was rolled",
    "the bend radius table, by metal, temper, thickness and rolling direction",
    _bend_radius,
)


def _grain_unknown(subject: Subject) -> Iterator[Finding]:
    stock = subject.part.stock
    if stock.grain_deg is not None:
        return
    for bend in subject.part.bends:
        try:
            across, along = (
                minimum_bend_radius(stock.metal.id, stock.thickness_mm, way, bend.turn_deg).radius_mm
                for way in (Grain.ACROSS, Grain.ALONG)
            )
        except LookupFault:
            continue
        if across != along:
            remedy = (
                f"state the rolling direction: bends across it need {across:g} mm inside, along it {along:g} mm; "
                "the worse is taken"
            )
            yield GRAIN_UNKNOWN.finding(Level.NOTE, "stock", None, None, None, remedy)
            return


GRAIN_UNKNOWN: Final = Rule(
    "grain-unknown", "The rolling direction is stated where bends depend on it", "the bend radius table", _grain_unknown
)


# -- legs that rest on the die

#: Part of the bend's width at either end that is left out, so that rounded corners of a leg don't count as a
#: short leg. Common practice, no source.
_CORNER_SHARE: Final = 0.1


def _min_leg(subject: Subject) -> Iterator[Finding]:
    for strip in subject.flat.strips:
        bend = strip.bend
        if bend.minimum_leg_mm is not None:
            declared, least = Level.FAIL, bend.minimum_leg_mm
        else:
            declared, least = Level.WARN, _usual_leg_mm(subject.thickness_mm)
        for panel in (bend.parent, bend.child):
            yield from _judge_min_leg(subject, strip, panel, least, declared)


def _usual_leg_mm(thickness_mm: float) -> float:
    """Shortest leg on the usual die; 0 where the chart has none, because then nothing can be said."""
    try:
        return usual_die(thickness_mm).minimum_flange_mm
    except LookupFault:
        return 0.0


def _judge_min_leg(subject: Subject, strip: Strip, panel: str, least: float, level: Level) -> Iterator[Finding]:
    bend = strip.bend
    flat_mm, place = _shortest_flat_mm(subject, strip, panel)
    leg = flat_mm + outside_setback_mm(bend.inside_radius_mm, subject.thickness_mm, bend.turn_deg)
    if not short_of(leg, least):
        return
    tool = "the declared tooling" if level is Level.FAIL else f"the usual die for {subject.thickness_mm:g} mm"
    remedy = (
        f"make panel {panel!r} {up_mm(least - leg)} longer at {bend.id!r} and trim it after bending, "
        f"or bend it with a smaller die: {tool} needs {least:g} mm over the outside"
    )
    source = cited(dies()[0].source, dies()[0].how)
    yield MIN_LEG.finding(level, f"{bend.id}, {panel}", leg, least, place, remedy, source)


def _shortest_flat_mm(subject: Subject, strip: Strip, panel: str) -> tuple[float, Point]:
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
        for p in _extremes(e, margin, width - margin)
        if p.y > across - SAME_POINT_MM
    ]
    nearest = min(points, key=lambda p: (p.y, p.x))
    return nearest.y - across, own.point(nearest)


MIN_LEG: Final = Rule(
    "min-leg",
    "Both legs of every bend, over the outside, are as long as the tooling needs",
    "the die chart, or the tooling that the description declares",
    _min_leg,
)


# -- reliefs

#: 1/32 in, see the source.
LEAST_REACH_MM: Final = INCH_MM / 32
#: How far beside the end of a strip is looked. First nearer than any cut can be made, but farther than noise: there
#: must be no metal. Then on, because a round relief, or a side that slopes away, gets deeper only by and by;
#: at the last a slope of 15 deg to the bend line has reached the limit. Common practice, no source.
_BESIDE_MM: Final = (0.01, 0.1, 0.4, LEAST_REACH_MM, 1.5, LEAST_REACH_MM / math.tan(math.radians(15.0)) + 0.01)


def _relief(subject: Subject) -> Iterator[Finding]:
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
        yield from _judge_relief(strip, end, _deepest_mm(strip, end, free, in_strip[strip.bend.id]))


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
    across = [p.y for low, high, e in edges if low <= x <= high for p in _crossings(e, x)]
    return min((abs(y - middle) - middle for y in across), default=float("inf"))


def _judge_relief(strip: Strip, end: _End, reach: float) -> Iterator[Finding]:
    subject = f"{strip.bend.id}, {end.value}"
    place = strip.placement.point(Point(end.x(strip, 0.0), strip.metal.allowance_mm / 2))
    if not short_of(0.0, reach):
        remedy = f"cut a relief there that reaches {up_mm(LEAST_REACH_MM)} past both tangent lines, or the sheet tears"
        yield RELIEF.finding(Level.FAIL, subject, reach, LEAST_REACH_MM, place, remedy)
    elif short_of(reach, LEAST_REACH_MM):
        remedy = f"let the relief reach {up_mm(LEAST_REACH_MM - reach)} farther past the tangent line"
        yield RELIEF.finding(Level.WARN, subject, reach, LEAST_REACH_MM, place, remedy)


RELIEF: Final = Rule(
    "relief",
    "At both ends of every bend the metal ends, or a relief passes both tangent lines",
    "FAA-H-8083-31, chapter 4: relief holes reach 1/32 to 1/16 in beyond the inside tangent lines",
    _relief,
)


# -- holes in a bend and near it


def _hole_in_bend(subject: Subject) -> Iterator[Finding]:
    strips = subject.flat.strips
    if not strips:
        return
    boxes = [s.outline().bounds() for s in strips]
    for i, j in near_pairs([cut.bounds() for _, cut in subject.cuts], [0.0] * len(subject.cuts), boxes):
        name, cut = subject.cuts[i]
        deep, place = _reach_into_mm(cut, strips[j])
        if short_of(0.0, deep):
            bend = strips[j].bend.id
            remedy = f"move it {up_mm(deep)} out of {bend!r}, or drill it after bending"
            yield HOLE_IN_BEND.finding(Level.FAIL, name, -deep, 0.0, place, remedy)


def _reach_into_mm(cut: Cut, strip: Strip) -> tuple[float, Point]:
    """How far the cut reaches into the strip past the nearer tangent line, 0 when it stays out; and where.

    The place lies in the flat. Only what lies between the ends of the strip counts.
    """
    width, across = strip.bend.width_mm, strip.metal.allowance_mm
    local = cut.contour().moved(strip.placement.inverse())
    points = [p for e in local.edges for p in _extremes(e, SAME_POINT_MM, width - SAME_POINT_MM)]
    if not points:
        return 0.0, Point(0.0, 0.0)
    low = min(points, key=lambda p: (p.y, p.x))
    high = max(points, key=lambda p: (p.y, p.x))
    deep, deepest = (high.y, high) if high.y <= across - low.y else (across - low.y, low)
    return max(0.0, deep), strip.placement.point(deepest)


HOLE_IN_BEND: Final = Rule(
    "hole-in-bend",
    "No hole or opening reaches past a tangent line into a bend",
    "common practice, no source: a hole in a bend tears or pulls oval",
    _hole_in_bend,
)


#: The same practice: (longest edge along the bend in mm, distance in thicknesses).
_ROUND_PER_T: Final = 1.5
_STRAIGHT_PER_T: Final = ((INCH_MM, 2.0), (2 * INCH_MM, 2.5), (math.inf, 3.0))


def _hole_bend(subject: Subject) -> Iterator[Finding]:
    for h in subject.holes:
        for tangent in subject.tangents.get(h.panel, ()):
            yield from _judge_hole_bend(h, tangent, subject)


def _judge_hole_bend(h: PlacedHole, tangent: Tangent, subject: Subject) -> Iterator[Finding]:
    bend = tangent.strip.bend
    oval = _per_t(h, tangent) * subject.thickness_mm
    opening = bend.die_mm or 0.0
    gap = cut_gap(h.cut, Contour((tangent.line,)))
    if not short_of(gap.mm, max(oval, opening / 2)) or _reach_into_mm(h.cut, tangent.strip)[0] > 0:
        return
    if short_of(gap.mm, oval):
        more = up_mm(oval - gap.mm)
        remedy = f"move it {more} away from {bend.id!r}, or drill it after bending; it would be pulled oval"
        yield HOLE_BEND.finding(Level.FAIL, h.id, gap.mm, oval, gap.here, remedy)
    elif short_of(gap.mm, opening / 2):
        more = up_mm(opening / 2 - gap.mm)
        remedy = f"it lies over the V of {opening:g} mm at {bend.id!r}: move it {more} away, or check it after bending"
        chart = cited(dies()[0].source, dies()[0].how)
        yield HOLE_BEND.finding(Level.WARN, h.id, gap.mm, opening / 2, gap.here, remedy, chart)


def _per_t(h: PlacedHole, tangent: Tangent) -> float:
    """How many thicknesses it keeps away; what has no edge along the bend is pulled like a round hole."""
    x0, y0, x1, y1 = h.cut.moved(Placement.along(tangent.line.start, tangent.line.end).inverse()).bounds()
    along = h.hole.shape.along_bend_mm(x1 - x0, y1 - y0)
    if along <= 0:
        return _ROUND_PER_T
    return next(per_t for longest, per_t in _STRAIGHT_PER_T if not short_of(longest, along))


HOLE_BEND: Final = Rule(
    "hole-bend",
    "From the edge of a hole to the tangent line of a bend: enough that it stays round",
    (
        "common practice, no source: round holes 1 1/2 t from the tangent line; with an edge along the bend 2 t up to "
        "1 in long, 2 1/2 t up to 2 in, 3 t beyond"
    ),
    _hole_bend,
)


# -- marks


def _mark_in_bend(subject: Subject) -> Iterator[Finding]:
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
                    where = strip.placement.point(place)
                    yield MARK_IN_BEND.finding(Level.FAIL, subject_name, deep, 0.0, where, remedy)


def _inside(mark: Line, width: float, across: float) -> tuple[float, Point] | None:
    """How much of a mark, in the strip's frame, lies between the tangent lines, counted across the bend."""
    points = _extremes(mark, -SAME_POINT_MM, width + SAME_POINT_MM)
    if not points:
        return None
    low, high = min(points, key=lambda p: p.y), max(points, key=lambda p: p.y)
    if not (short_of(0.0, high.y) and short_of(low.y, across)):
        return None
    bottom, top = max(0.0, low.y), min(across, high.y)
    return top - bottom, Point((low.x + high.x) / 2, (bottom + top) / 2)


MARK_IN_BEND: Final = Rule(
    "mark-in-bend", "No mark line runs into the metal that a bend takes", NO_SOURCE, _mark_in_bend
)
