"""A hole where it lies in the flat, with what the rules ask of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from bracketgen.bending.flat import FlatHole
from bracketgen.geometry.contour import Cut, Edge
from bracketgen.geometry.gap import Gap, edge_gap
from bracketgen.geometry.line import Box, Line
from bracketgen.geometry.placement import Placement
from bracketgen.geometry.point import Point
from bracketgen.part.hole import Hole, HoleShape, Purpose
from bracketgen.standards.fasteners import Fastener, fastener

_FOR_FASTENERS: Final = frozenset({Purpose.CLEARANCE, Purpose.TAPPED, Purpose.RIVET_NUT, Purpose.DOWEL})


@dataclass(frozen=True, slots=True)
class PlacedHole:
    """One hole in the flat, mm.

    `core` is what keeps half a diameter away from the edge all round: a round hole's centre, or the line
    between the centres of a slot's two ends. `bolt` is the fastener it is for, where one is named.
    """

    hole: Hole
    panel: str
    cut: Cut
    centre: Point
    core: Point | Line
    bolt: Fastener | None

    @property
    def id(self) -> str:
        """The hole's id, which findings and waivers name."""
        return self.hole.id

    @property
    def carries_fastener(self) -> bool:
        """Whether a bolt, pin or rivet nut loads its edge."""
        return self.hole.shape is not HoleShape.OUTLINE and (
            self.bolt is not None or self.hole.purpose in _FOR_FASTENERS
        )

    @property
    def width_mm(self) -> float:
        """The diameter, or a slot's width; at least that of the bolt's thread. 0 for other outlines."""
        return max(self.hole.diameter_mm or 0.0, self.bolt.diameter_mm if self.bolt else 0.0)

    @property
    def bolt_mm(self) -> float:
        """The bolt's diameter; the hole's, which is larger, where no bolt is named."""
        return self.bolt.diameter_mm if self.bolt else self.width_mm

    def core_box(self) -> Box:
        """Bounds of the core."""
        if isinstance(self.core, Line):
            return self.core.bounds()
        return (self.core.x, self.core.y, self.core.x, self.core.y)

    def gap_to(self, edge: Edge) -> Gap:
        """From the core to an edge."""
        if isinstance(self.core, Line):
            return edge_gap(self.core, edge)
        foot = edge.nearest(self.core)
        return Gap(self.core.distance(foot), self.core, foot)


def place_hole(flat_hole: FlatHole) -> PlacedHole:
    """The hole of the flat; raises LookupFault for a fastener that no table holds."""
    hole = flat_hole.hole
    bolt = fastener(hole.fastener) if hole.fastener else None
    return PlacedHole(hole, flat_hole.panel, flat_hole.cut, flat_hole.centre, _core(hole, flat_hole.placement), bolt)


def _core(hole: Hole, by: Placement) -> Point | Line:
    centre = by.point(hole.centre)
    if hole.shape is not HoleShape.SLOT or hole.length_mm is None or hole.diameter_mm is None:
        return centre
    along = by.direction(Placement.turned(hole.direction_deg or 0.0).direction(Point(1.0, 0.0)))
    half = (hole.length_mm - hole.diameter_mm) / 2
    return Line(centre.plus(along, -half), centre.plus(along, half)) if half > 0 else centre
