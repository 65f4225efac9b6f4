"""Rules about holes: their distance to edges and to each other, flat metal under heads, threads in hot-cut walls."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from bracketgen.findings import Finding, Level
from bracketgen.geometry.contour import ChainSet
from bracketgen.geometry.gap import locus_gap, near_pairs, point_gap
from bracketgen.part.hole import Isolator, IsolatorKind, Purpose
from bracketgen.part.part import Bend
from bracketgen.rules.engine import NO_SOURCE, Rule, cited, short_of, up_mm
from bracketgen.rules.subject import PlacedHole, Subject
from bracketgen.standards.fasteners import EdgeRule, Fastener, edge_rule
from bracketgen.standards.table import LookupFault

# -- hole to edge

#: Below this many hole diameters the full bearing strength is not reached. Common practice, no source.
_COMFORTABLE_PER_HOLE: Final = 2.0
#: Taken where the user's rule prints nothing for so small a bolt.
_FALLBACK: Final = "EN 1993-1-8"
#: EN 1993-1-8:2005, table 3.3: e3 and e4 of slotted holes, from the axis of the slot or the centre of its end.
_EN_SLOT_PER_HOLE: Final = 1.5


def _hole_edge(subject: Subject) -> Iterator[Finding]:
    holes = subject.fastener_holes
    if not holes:
        return
    rule = edge_rule(subject.part.edge_rule)
    limits = [(*_least_edge(h, rule), _COMFORTABLE_PER_HOLE * h.width_mm) for h in holes]
    reach = [max(least, comfortable) for least, _source, comfortable in limits]
    for i, gap in subject.edge_gaps(holes, reach):
        h, (least, source, comfortable) = holes[i], limits[i]
        if short_of(gap.mm, least):
            more = up_mm(least - gap.mm)
            remedy = f"move the hole {more} away from the edge, or leave {more} more metal there; it can tear out"
            yield HOLE_EDGE.finding(Level.FAIL, h.id, gap.mm, least, gap.here, remedy, source)
        elif short_of(gap.mm, comfortable):
            more = up_mm(comfortable - gap.mm)
            remedy = f"{more} more metal to the edge would give the hole two diameters; check what it carries"
            yield HOLE_EDGE.finding(Level.WARN, h.id, gap.mm, comfortable, gap.here, remedy, NO_SOURCE)


def _least_edge(h: PlacedHole, rule: EdgeRule) -> tuple[float, str]:
    """The least distance to an edge, mm, and its source."""
    source = cited(rule.source, rule.how)
    try:
        least = rule.edge_mm(h.width_mm, h.bolt_mm)
    except LookupFault:
        fallback = edge_rule(_FALLBACK)
        source = f"{cited(fallback.source, fallback.how)} ({rule.id} prints nothing for so small a bolt)"
        rule, least = fallback, fallback.edge_mm(h.width_mm, h.bolt_mm)
    if h.hole.shape.slot_mm is not None and rule.id.startswith("EN 1993-1-8"):
        least = max(least, _EN_SLOT_PER_HOLE * h.width_mm)
    return least, source


HOLE_EDGE: Final = Rule(
    "hole-edge",
    "From the centre of a bolt hole to any edge: not less than the edge distance rule asks, better 2 diameters",
    "the edge distance table, row named by the description; 2 diameters: common practice, no source",
    _hole_edge,
)


# -- hole to hole


def _hole_spacing(subject: Subject) -> Iterator[Finding]:
    holes = subject.fastener_holes
    if len(holes) < 2:
        return
    rule = edge_rule(subject.part.edge_rule)
    # What the rule asks in the kinder and in the sterner direction of the load.
    limits = [sorted((rule.pitch_mm(h.width_mm, h.bolt_mm), rule.row_pitch_mm(h.width_mm, h.bolt_mm))) for h in holes]
    boxes = [h.core_box() for h in holes]
    reach = max(most for _least, most in limits)
    for i, j in near_pairs(boxes, [reach] * len(boxes), boxes):
        if i >= j:
            continue
        # Standards speak of equal holes. For unequal ones the mean of both limits: common practice, no source.
        least, most = ((a + b) / 2 for a, b in zip(limits[i], limits[j], strict=True))
        gap = locus_gap(holes[i].core, holes[j].core)
        name, place, source = f"{holes[i].id} and {holes[j].id}", gap.middle, cited(rule.source, rule.how)
        if short_of(gap.mm, least):
            remedy = f"set the holes {up_mm(least - gap.mm)} farther apart"
            yield HOLE_SPACING.finding(Level.FAIL, name, gap.mm, least, place, remedy, source)
        elif short_of(gap.mm, most):
            more = up_mm(most - gap.mm)
            remedy = f"set the holes {more} farther apart, unless the load runs so that {least:.1f} mm is enough"
            yield HOLE_SPACING.finding(Level.WARN, name, gap.mm, most, place, remedy, source)


HOLE_SPACING: Final = Rule(
    "hole-spacing",
    "From bolt hole to bolt hole, centre to centre: not less than the edge distance rule asks",
    "the edge distance table, row named by the description",
    _hole_spacing,
)


# -- hole and panel


def _hole_outside(subject: Subject) -> Iterator[Finding]:
    for panel in subject.part.panels:
        held = ChainSet([panel.outline]).hold([h.centre for h in panel.holes])[:, 0]
        for hole, inside in zip(panel.holes, held.tolist(), strict=True):
            if not inside:
                beyond = point_gap(hole.centre, panel.outline).mm
                place = subject.flat.placements[panel.id].point(hole.centre)
                remedy = f"its centre lies {up_mm(beyond)} outside panel {panel.id!r}; move it, or enlarge the panel"
                yield HOLE_OUTSIDE.finding(Level.FAIL, hole.id, -beyond, 0.0, place, remedy)


HOLE_OUTSIDE: Final = Rule(
    "hole-outside", "The centre of every hole lies inside its panel", "plane geometry", _hole_outside
)


# -- head, nut and washer


def _head_flat(subject: Subject) -> Iterator[Finding]:
    seats = [
        (h, h.bolt, *_seat_mm(h.bolt, h.hole.isolator), _on_whose_word(h.bolt, h.hole.isolator))
        for h in subject.fastener_holes
        if h.bolt and h.hole.purpose is not Purpose.DOWEL
    ]
    for h, bolt, _head, washer, source in seats:
        for tangent in subject.tangents.get(h.panel, ()):
            bend, gap = tangent.strip.bend, h.gap_to(tangent.line)
            needed = washer + _lean_mm(bend, bolt)
            if short_of(gap.mm, needed):
                why = "it would ride on the bend" if short_of(gap.mm, washer) else "the other leg leans over it"
                remedy = f"move the hole {up_mm(needed - gap.mm)} away from {bend.id!r}: {why}"
                yield HEAD_FLAT.finding(Level.FAIL, h.id, gap.mm, needed, gap.here, remedy, source)
    for i, gap in subject.edge_gaps([h for h, *_ in seats], [washer for _h, _bolt, _head, washer, _ in seats]):
        h, _bolt, head, washer, source = seats[i]
        if short_of(gap.mm, head):
            remedy = f"move the hole {up_mm(head - gap.mm)} inward: the head or nut hangs over the edge"
            yield HEAD_FLAT.finding(Level.FAIL, h.id, gap.mm, head, gap.here, remedy, source)
        elif short_of(gap.mm, washer):
            remedy = f"move the hole {up_mm(washer - gap.mm)} inward, or the washer hangs over the edge"
            yield HEAD_FLAT.finding(Level.WARN, h.id, gap.mm, washer, gap.here, remedy, source)


def _seat_mm(bolt: Fastener, rubber: Isolator | None) -> tuple[float, float]:
    """Half the room on the metal that the head takes across its corners, and the larger of head and washer, mm."""
    wide = rubber is not None and rubber.kind is not IsolatorKind.BOBBIN
    washer = (bolt.wide_washer_od_mm if wide else None) or bolt.washer_od_mm or 0.0
    head = max(bolt.head_across_corners_mm, bolt.nut_across_flats_mm / math.cos(math.pi / 6)) / 2
    return head, max(head, washer / 2)


def _on_whose_word(bolt: Fastener, rubber: Isolator | None) -> str:
    """The source of the seat, with its doubt where the washer's or nut's size was not read."""
    washer = "washer_od_mm" if rubber is None or rubber.kind is IsolatorKind.BOBBIN else "wide_washer_od_mm"
    nut = bolt.nut_across_flats_mm / math.cos(math.pi / 6) > bolt.head_across_corners_mm
    return cited(bolt.source, bolt.how_of(washer, *(("nut_across_flats_mm",) if nut else ())))


def _lean_mm(bend: Bend, bolt: Fastener) -> float:
    """How far the other leg's inner face stands over this panel at the height of the head, past the tangent line.

    Only a bend turned beyond square leans. The inner face leaves the arc at height R (1 - cos turn) and moves
    back over the panel by 1 / tan(turn) per mm of height; plane geometry.
    """
    if bend.turn_deg <= 90.0:
        return 0.0
    turn = math.radians(bend.turn_deg)
    height = max(bolt.head_height_mm, bolt.nut_height_mm)
    above = height - bend.inside_radius_mm * (1.0 - math.cos(turn))
    face = bend.inside_radius_mm * math.sin(turn) + above / math.tan(turn)
    return max(0.0, -face)


HEAD_FLAT: Final = Rule(
    "head-flat",
    "Head, nut and washer of every bolt lie on flat metal, clear of bends, edges and the other leg, on both faces",
    "the fastener table; plane geometry",
    _head_flat,
)


# -- threads and fits in hot-cut holes

_FINISHED_BY: Final = {
    Purpose.TAPPED: "drill to {0:g} mm and tap",
    Purpose.DOWEL: "ream to {0:g} mm",
    Purpose.RIVET_NUT: "drill to {0:g} mm",
}
#: A coarse hot-cut wall (ISO 9013 class 2) breaks taps, any hot-cut wall spoils a fit: these fail. Threads are
#: tapped in finer cuts every day, at the cost of taps, and a rivet nut may only spin in a tapered hole: these warn.
_AS_CUT: Final = {Purpose.TAPPED: Level.WARN, Purpose.DOWEL: Level.FAIL, Purpose.RIVET_NUT: Level.WARN}
_COARSE: Final = "2"


def _thermal_thread(subject: Subject) -> Iterator[Finding]:
    process = subject.part.stock.process
    for h in subject.holes:
        purpose = h.hole.purpose
        if not process.thermal or purpose not in _FINISHED_BY:
            continue
        finished = h.hole.shape.width_mm or 0.0
        work = _FINISHED_BY[purpose].format(finished)
        if h.hole.pilot is not None:
            pilot = 2 * h.hole.pilot.radius
            remedy = f"cut as a pilot of {pilot:g} mm; {work}"
            yield THERMAL_THREAD.finding(Level.NOTE, h.id, pilot, finished, h.centre, remedy)
        else:
            remedy = (
                f"a hot-cut edge is hard and tapered: cut a smaller pilot hole and {work}, or choose a cold process"
            )
            broken = purpose is Purpose.TAPPED and process.tolerance_class == _COARSE
            level = Level.FAIL if broken else _AS_CUT[purpose]
            yield THERMAL_THREAD.finding(level, h.id, finished, None, h.centre, remedy)


THERMAL_THREAD: Final = Rule(
    "thermal-thread",
    "Tapped, dowel and rivet nut holes in a hot-cut part are cut as pilots and finished with a drill or reamer",
    NO_SOURCE,
    _thermal_thread,
)
