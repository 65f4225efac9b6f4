"""What a picture of an inspected file shows: its lines as points, what is metal, what stayed open."""

from __future__ import annotations

from collections.abc import Sequence
from math import acos, ceil

from bracketgen.drawing.inspect_view import Shown, Spot
from bracketgen.geometry.point import Point
from bracketgen.writers.inspecting.cut_layers import is_cut
from bracketgen.writers.inspecting.groups import Group
from bracketgen.writers.inspecting.inspection import Inspection
from bracketgen.writers.readback.edges import Edge

#: A chord of the picture strays from its arc by this part of the drawing's size at most: far under a pixel.
_CHORD = 1 / 40_000
_MOST_CHORDS = 256


def shown(inspection: Inspection) -> Shown:
    """The drawing as chains of points, mm."""
    box = inspection.box
    if box is None or inspection.drawn is None or inspection.outlines is None:
        return Shown((0.0, 0.0, 0.0, 0.0))
    chord = max(box[2] - box[0], box[3] - box[1], 1e-6) * _CHORD
    contours = [_points(c.edges, chord) for c in inspection.outlines.chains.contours]
    around = inspection.outlines.nesting.around
    depth = inspection.outlines.nesting.depth
    metal = tuple(
        (ring, *(contours[j] for j, outer in enumerate(around) if outer == i))
        for i, ring in enumerate(contours)
        if depth[i] % 2 == 0
    )
    loose = tuple(_points((e,), chord) for e in inspection.outlines.chains.broken)
    others = [p for p in inspection.drawn.pieces if not is_cut(p.entity.layer)]
    return Shown(box, metal, loose, tuple(_points(p.edges, chord) for p in others))


def spots(groups: Sequence[Group]) -> tuple[Spot, ...]:
    """The groups as numbered spots."""
    return tuple(Spot(g.number, g.finding, tuple(Point(*p) for p in g.places)) for g in groups)


def _points(edges: Sequence[Edge], chord_mm: float) -> tuple[Point, ...]:
    found = [Point(*edges[0].start)]
    for edge in edges:
        count = 1
        if not edge.is_line:
            half = acos(max(0.5, 1.0 - chord_mm / edge.radius_mm)) if edge.radius_mm > chord_mm else 1.0
            count = min(_MOST_CHORDS, max(1, ceil(abs(edge.sweep_rad) / (2.0 * half))))
        found += [Point(*edge.point_at(edge.start_rad + edge.sweep_rad * k / count)) for k in range(1, count)]
        found.append(Point(*edge.end))
    return tuple(found)
