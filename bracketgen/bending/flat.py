"""The developed blank."""

from __future__ import annotations

import math
from dataclasses import dataclass

from bracketgen.bending.allowance import BendMetal
from bracketgen.geometry.contour import Circle, Contour, Cut, closed_chain
from bracketgen.geometry.line import Box, Line
from bracketgen.geometry.placement import Placement
from bracketgen.geometry.point import Point
from bracketgen.part.bend import Bend
from bracketgen.part.hole import Hole
from bracketgen.part.part import Part


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


def is_round(cut: Cut) -> bool:
    """Whether a cut is a plain circle."""
    return isinstance(cut, Circle)
