"""From the part to its developed blank."""

from __future__ import annotations

from collections.abc import Mapping

from bracketgen.bending.allowance import BendMetal
from bracketgen.bending.flat import Flat, FlatHole, Strip
from bracketgen.geometry.combine import Region, combine, one_body
from bracketgen.geometry.placement import Placement
from bracketgen.geometry.point import Point
from bracketgen.part.bend import Bend
from bracketgen.part.part import Part


def place_strip(bend: Bend, parent: Placement) -> Placement:
    """The strip's frame in the flat, given where the parent lies."""
    line = bend.parent_line
    return Placement.along(line.start, line.end).then(parent)


def place_child(bend: Bend, strip: Placement, allowance_mm: float) -> Placement:
    """Where the child panel lies in the flat: beyond the strip."""
    line = bend.child_line
    own = Placement.along(line.start, line.end).inverse()
    return own.then(Placement(Point(0.0, allowance_mm))).then(strip)


def unfold(part: Part, allowances: Mapping[str, BendMetal]) -> Flat:
    """The flat of a part; `allowances` holds the metal that each bend takes, by bend id.

    Raises GeometryFault when the flat falls apart or touches itself in a point.
    """
    placements = {part.panels[0].id: Placement()}
    strips: list[Strip] = []
    for bend in part.bends:
        metal = allowances[bend.id]
        strip = Strip(bend, metal, place_strip(bend, placements[bend.parent]))
        placements[bend.child] = place_child(bend, strip.placement, metal.allowance_mm)
        strips.append(strip)
    body = _blank(part, placements, strips)
    holes = tuple(FlatHole(p.id, h, placements[p.id]) for p in part.panels for h in p.holes)
    return Flat(part, body.outer, body.inner, holes, tuple(strips), placements)


def _blank(part: Part, placements: Mapping[str, Placement], strips: list[Strip]) -> Region:
    if not strips:
        return Region(part.panels[0].outline)
    pieces = [p.outline.moved(placements[p.id]) for p in part.panels]
    pieces += [s.outline() for s in strips]
    return one_body(combine(pieces), "the flat")
