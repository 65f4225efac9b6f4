"""Rules about cutting: what the process can cut in this thickness, and edges that neither machine nor hand minds."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from bracketgen.findings import Finding, Level
from bracketgen.geometry.contour import Contour, Cut, union_bounds
from bracketgen.geometry.edge import Arc
from bracketgen.geometry.facing import Side
from bracketgen.geometry.gap import Gap, near_pairs, piece_gap
from bracketgen.geometry.plane import Point
from bracketgen.geometry.rounding import turn_rad
from bracketgen.rules.engine import NO_SOURCE, Rule, cited, short_of, up_mm
from bracketgen.rules.subject import Subject
from bracketgen.tolerances import SAME_POINT_MM, SHORTEST_EDGE_MM


def _min_hole(subject: Subject) -> Iterator[Finding]:
    process = subject.part.stock.process
    least = process.minimum_hole_mm(subject.thickness_mm)
    for h in subject.holes:
        diameter = h.hole.bore_in_file_mm
        if diameter is not None and short_of(diameter, least):
            remedy = f"make it at least {least:g} mm, or mark it only and drill it"
            source = cited(process.source, process.how)
            yield MIN_HOLE.finding(Level.FAIL, h.id, diameter, least, h.centre, remedy, source)


MIN_HOLE: Final = Rule(
    "min-hole", "No round hole is smaller than the process can cut in this thickness", "the process table", _min_hole
)


# -- slots, notches and narrow openings


def _min_slot(subject: Subject) -> Iterator[Finding]:
    process = subject.part.stock.process
    least = process.minimum_slot_mm(subject.thickness_mm)
    remedy = f"make it at least {least:g} mm wide"
    source = cited(process.source, process.how)
    for h in subject.holes:
        width = h.hole.shape.slot_mm
        if width is not None and short_of(width, least):
            yield MIN_SLOT.finding(Level.FAIL, h.id, width, least, h.centre, remedy, source)
    for name, facings in subject.facing:
        gap_side = Side.OUTSIDE if name == "outline" else Side.INSIDE
        for f in facings:
            if f.side is gap_side and f.gap.mm > SAME_POINT_MM and short_of(f.gap.mm, least):
                yield MIN_SLOT.finding(Level.FAIL, name, f.gap.mm, least, f.gap.middle, remedy, source)


MIN_SLOT: Final = Rule(
    "min-slot",
    "No slot, notch or opening is narrower than the process can cut in this thickness",
    "the process table",
    _min_slot,
)


# -- metal between cuts


def _min_web(subject: Subject) -> Iterator[Finding]:
    process = subject.part.stock.process
    least = process.minimum_web_mm(subject.thickness_mm)
    source = cited(process.source, process.how)
    for name, gap in [*_between_cuts(subject, least), *_necks(subject)]:
        if not short_of(gap.mm, least):
            continue
        if gap.mm <= SAME_POINT_MM:
            remedy = f"no metal is left here: move the cuts {up_mm(least)} apart"
        else:
            remedy = f"leave {up_mm(least - gap.mm)} more metal between the cuts"
        yield MIN_WEB.finding(Level.FAIL, name, gap.mm, least, gap.middle, remedy, source)


def _between_cuts(subject: Subject, within: float) -> Iterator[tuple[str, Gap]]:
    """The least gap of every two cuts, and of a cut and the outline, that come within reach of each other."""
    chains: list[tuple[str, Cut]] = [("outline", subject.flat.outline), *subject.cuts]
    pieces = [(n, piece) for n, (_name, cut) in enumerate(chains) for piece in cut.pieces]
    boxes = [piece.bounds() for _, piece in pieces]
    least: dict[tuple[int, int], Gap] = {}
    for i, j in near_pairs(boxes, [within] * len(boxes), boxes):
        (a, p), (b, q) = pieces[i], pieces[j]
        if a < b:
            gap = piece_gap(p, q)
            if (a, b) not in least or gap.mm < least[a, b].mm:
                least[a, b] = gap
    for (a, b), gap in sorted(least.items()):
        yield f"{chains[a][0]} and {chains[b][0]}", gap
    # Of cuts that lie wholly inside another one can't be meant, however far apart their edges are.
    boxes = [cut.bounds() for _, cut in chains]
    for i, j in near_pairs(boxes[1:], [0.0] * len(subject.cuts), boxes[1:]):
        inner, outer, pair = i + 1, j + 1, (min(i, j) + 1, max(i, j) + 1)
        told = pair in least and least[pair].mm <= SAME_POINT_MM
        if inner == outer or told or union_bounds((boxes[inner], boxes[outer])) != boxes[outer]:
            continue
        place = chains[inner][1].any_point
        if chains[outer][1].holds(place):
            yield f"{chains[pair[0]][0]} and {chains[pair[1]][0]}", Gap(0.0, place, place)


def _necks(subject: Subject) -> Iterator[tuple[str, Gap]]:
    """Necks of the outline, tongues into an opening, and any place where a chain touches itself."""
    for name, facings in subject.facing:
        metal = Side.INSIDE if name == "outline" else Side.OUTSIDE
        for f in facings:
            if f.side is metal or f.gap.mm <= SAME_POINT_MM:
                yield name, f.gap


MIN_WEB: Final = Rule(
    "min-web",
    "Between any two cuts, a cut and the edge, and in every neck: enough metal for the process and thickness",
    "the process table",
    _min_web,
)


# -- edges over which a cutting controller stumbles


def _short_edge(subject: Subject) -> Iterator[Finding]:
    remedy = f"move a neighbour so that this edge is gone, or at least {SHORTEST_EDGE_MM:g} mm long"
    for name, chain in subject.chains:
        for e in chain.edges:
            if short_of(e.length, SHORTEST_EDGE_MM):
                yield SHORT_EDGE.finding(Level.FAIL, name, e.length, SHORTEST_EDGE_MM, e.middle, remedy)


SHORT_EDGE: Final = Rule("short-edge", f"No edge is shorter than {SHORTEST_EDGE_MM:g} mm", NO_SOURCE, _short_edge)


# -- corners that cut hands and hoses

#: A corner that turns by less than this is too blunt to cut. Common practice, no source.
BLUNT_DEG: Final = 10.0


def _sharp_corner(subject: Subject) -> Iterator[Finding]:
    least = subject.part.least_outer_radius_mm
    for name, chain in subject.chains:
        around_metal = chain if name == "outline" else chain.reversed()
        for place, radius in _outer_corners(around_metal):
            if short_of(radius, least):
                remedy = f"round this corner to at least {least:g} mm; sharp corners cut hands, hoses and cables"
                yield SHARP_CORNER.finding(Level.WARN, name, radius, least, place, remedy)


def _outer_corners(chain: Contour) -> Iterator[tuple[Point, float]]:
    """Where the chain, metal on its left, turns outward around metal, and with what radius (0 = a sharp vertex)."""
    blunt = math.radians(BLUNT_DEG)
    edges = chain.edges
    for before, e in zip((edges[-1], *edges[:-1]), edges, strict=True):
        if turn_rad(before, e) > blunt:
            yield e.start, 0.0
        if isinstance(e, Arc) and e.sweep_rad > blunt:
            yield e.middle, e.radius


SHARP_CORNER: Final = Rule(
    "sharp-corner",
    f"Every corner that sticks out and turns more than {BLUNT_DEG:g} deg has the least outer radius of the description",
    NO_SOURCE,
    _sharp_corner,
)


# -- thickness


def _process_thickness(subject: Subject) -> Iterator[Finding]:
    process, t = subject.part.stock.process, subject.thickness_mm
    if process.thickness_mm is None:
        return
    low, high = process.thickness_mm
    if not (short_of(t, low) or short_of(high, t)):
        return
    limit = low if t < low else high
    remedy = f"{process.tolerance_table} covers {low:g} to {high:g} mm for {process.id}; ask the shop what it can hold"
    source = f"{process.tolerance_table}, scope"
    yield PROCESS_THICKNESS.finding(Level.WARN, "stock", t, limit, None, remedy, source)


PROCESS_THICKNESS: Final = Rule(
    "process-thickness",
    "The thickness lies in the scope of the process's tolerance standard",
    "the process table",
    _process_thickness,
)
