"""The developed blank: panels laid beside the strips that their bends take, joined to one outline."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations

from bracketgen.bending.allowance import BendMetal
from bracketgen.geometry.combine import Region, combine, one_body
from bracketgen.geometry.contour import Contour, Cut, closed_chain
from bracketgen.geometry.edge import Box, Line
from bracketgen.geometry.gap import Locus, moved_locus
from bracketgen.geometry.plane import Placement, Point, midpoint
from bracketgen.geometry.scratch import ChordSide, polygon
from bracketgen.part.hole import Hole
from bracketgen.part.part import Bend, Part
from bracketgen.tolerances import SMALLEST_PIECE_MM2, SNAPPED_MM


@dataclass(frozen=True, slots=True)
class Strip:
    """The metal that a bend takes: a rectangle `width_mm` long and `allowance` across.

    In the strip's own frame x runs along the bend with the child on the left (+y), the parent's tangent line
    lies at y = 0 and the child's at y = allowance; `placement` puts that frame into the flat.
    """

    bend: Bend
    metal: BendMetal
    placement: Placement

    @property
    def area_mm2(self) -> float:
        """Area of the rectangle."""
        return self.bend.width_mm * self.metal.allowance_mm

    def line_at(self, across_mm: float) -> Line:
        """The line along the bend at a distance from the parent's tangent line, in the flat."""
        w = self.bend.width_mm
        return Line(self.placement.point(Point(0.0, across_mm)), self.placement.point(Point(w, across_mm)))

    @property
    def centre_line(self) -> Line:
        """Half way across; the child lies on its left."""
        return self.line_at(self.metal.allowance_mm / 2)

    def outline(self) -> Contour:
        """The rectangle in the flat, anticlockwise."""
        a, b = self.line_at(0.0), self.line_at(self.metal.allowance_mm)
        return closed_chain([a.start, a.end, b.end, b.start])


@dataclass(frozen=True, slots=True)
class FlatHole:
    """A hole with the panel it belongs to, and where it lies in the flat."""

    panel: str
    hole: Hole
    placement: Placement

    @property
    def centre(self) -> Point:
        """Centre in the flat."""
        return self.placement.point(self.hole.centre)

    @property
    def cut(self) -> Cut:
        """The finished edge in the flat."""
        return self.hole.cut.moved(self.placement)

    @property
    def core(self) -> Locus | None:
        """The core of its shape in the flat."""
        return None if self.hole.shape.core is None else moved_locus(self.hole.shape.core, self.placement)

    @property
    def ends(self) -> tuple[Point, ...]:
        """The centres of its end rounds in the flat."""
        return tuple(map(self.placement.point, self.hole.shape.ends))

    @property
    def stated_at(self) -> Point:
        """From where a drawing counts its place: the centre, or the middle of the box around an opening as it lies."""
        if self.hole.shape.core is not None:
            return self.centre
        x0, y0, x1, y1 = self.cut.bounds()
        return midpoint(Point(x0, y0), Point(x1, y1))

    @property
    def in_file(self) -> Cut:
        """What the cut file holds, in the flat."""
        return self.hole.in_file.moved(self.placement)


@dataclass(frozen=True, slots=True)
class Flat:
    """Outline and holes of the blank in the first panel's frame, described face up.

    `openings` are the inner edges that appear only when panels and strips close a ring; holes are in `holes`.
    """

    part: Part
    outline: Contour
    openings: tuple[Contour, ...]
    holes: tuple[FlatHole, ...]
    strips: tuple[Strip, ...]
    placements: dict[str, Placement]

    def cuts(self) -> list[Cut]:
        """Every inner edge of the cut file."""
        return [*self.openings, *(h.in_file for h in self.holes)]

    @property
    def bounds_mm(self) -> Box:
        """x0, y0, x1, y1 of the true arcs."""
        return self.outline.bounds()

    @property
    def area_mm2(self) -> float:
        """Area of the metal as cut."""
        return self.outline.area - math.fsum(abs(c.area) for c in self.cuts())

    @property
    def cut_length_mm(self) -> float:
        """Length of all cuts at nominal size."""
        return self.outline.length + math.fsum(c.length for c in self.cuts())

    @property
    def pierces(self) -> int:
        """How often the beam or jet has to start: once a closed cut."""
        return 1 + len(self.cuts())

    @property
    def mass_kg(self) -> float:
        """Mass as cut."""
        stock = self.part.stock
        return self.area_mm2 * stock.thickness_mm * stock.metal.density_kg_m3 * 1e-9

    def strip(self, bend_id: str) -> Strip:
        """The strip of a bend; KeyError when there is none."""
        for strip in self.strips:
            if strip.bend.id == bend_id:
                return strip
        raise KeyError(bend_id)


def unfold(part: Part, allowances: Mapping[str, BendMetal]) -> Flat:
    """The flat of a part; `allowances` holds the metal that each bend takes, by bend id.

    Raises GeometryFault when the flat falls apart or touches itself in a point.
    """
    placements = {part.panels[0].id: Placement()}
    strips: list[Strip] = []
    for bend in part.bends:
        metal = allowances[bend.id]
        strip = Placement.along(bend.parent_line.start, bend.parent_line.end).then(placements[bend.parent])
        child = Placement.along(bend.child_line.start, bend.child_line.end).inverse()
        placements[bend.child] = child.then(Placement(Point(0.0, metal.allowance_mm))).then(strip)
        strips.append(Strip(bend, metal, strip))
    body = _blank(part, placements, strips)
    holes = tuple(FlatHole(p.id, h, placements[p.id]) for p in part.panels for h in p.holes)
    return Flat(part, body.outer, body.inner, holes, tuple(strips), placements)


def _blank(part: Part, placements: Mapping[str, Placement], strips: list[Strip]) -> Region:
    if not strips:
        return Region(part.panels[0].outline)
    pieces = [p.outline.moved(placements[p.id]) for p in part.panels]
    pieces += [s.outline() for s in strips]
    return one_body(combine(pieces), "the flat")


# -- the flat is one sheet: two pieces that claim the same metal can't both be cut; touching is no overlap

#: Chords lie this near to the true arcs, on the inner side, so that arcs which only touch never overlap.
_CHORD_ERROR_MM = 1e-3


@dataclass(frozen=True, slots=True)
class Overlap:
    """Two pieces of the flat, panels or strips by the id of panel or bend, and the metal that both claim."""

    a: str
    b: str
    at_mm: Point
    area_mm2: float


def overlaps(flat: Flat) -> tuple[Overlap, ...]:
    """Every pair of pieces that share more than SMALLEST_PIECE_MM2 of the sheet; empty when the flat is sound.

    Panels come in the part's order, then strips. Areas are exact for straight edges; with arcs they fall short by at
    most 0.001 mm times the length of arc. Openings count as metal: they are cut out of the whole sheet, so nothing
    can lie in them.
    """
    pieces = [(p.id, p.outline.moved(flat.placements[p.id])) for p in flat.part.panels]
    pieces += [(s.bend.id, s.outline()) for s in flat.strips]
    boxed = [(name, chain, chain.bounds()) for name, chain in pieces]
    found = (
        _shared(a, chain_a, b, chain_b)
        for (a, chain_a, box_a), (b, chain_b, box_b) in combinations(boxed, 2)
        if _boxes_share(box_a, box_b)
    )
    return tuple(o for o in found if o is not None)


def _boxes_share(a: Box, b: Box) -> bool:
    """Whether two boxes share more than the smallest piece."""
    wide, high = min(a[2], b[2]) - max(a[0], b[0]), min(a[3], b[3]) - max(a[1], b[1])
    return wide > 0 and high > 0 and wide * high > SMALLEST_PIECE_MM2


def _shared(a: str, chain_a: Contour, b: str, chain_b: Contour) -> Overlap | None:
    first, second = (polygon(c, chord_error_mm=_CHORD_ERROR_MM, side=ChordSide.INSIDE) for c in (chain_a, chain_b))
    # Edges that only touch, but for rounding, give any area at all unless points are snapped to a grid.
    both = first.intersection(second, grid_size=SNAPPED_MM)
    if both.area <= SMALLEST_PIECE_MM2:
        return None
    inner = both.representative_point()
    return Overlap(a, b, Point(inner.x, inner.y), both.area)
