"""A hole where it lies in the flat, with what the rules ask of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from bracketgen.bending.flat import FlatHole
from bracketgen.geometry.contour import Cut, Edge
from bracketgen.geometry.edge import Box
from bracketgen.geometry.gap import Gap, Locus, locus_box, locus_gap
from bracketgen.geometry.plane import Point
from bracketgen.part.hole import Hole, Purpose
from bracketgen.standards.fasteners import Fastener, fastener

_FOR_FASTENERS: Final = frozenset({Purpose.CLEARANCE, Purpose.TAPPED, Purpose.RIVET_NUT, Purpose.DOWEL})


@dataclass(frozen=True, slots=True)
class PlacedHole:
    """One hole in the flat, mm.

    `core` is that of its shape, from which edge distances count; an opening without one counts from its centre. `bolt`
    is the fastener it is for, where one is named.
    """

    hole: Hole
    panel: str
    cut: Cut
    centre: Point
    core: Locus
    bolt: Fastener | None

    @property
    def id(self) -> str:
        """The hole's id, which findings and waivers name."""
        return self.hole.id

    @property
    def carries_fastener(self) -> bool:
        """Whether a bolt, pin or rivet nut loads its edge."""
        takes_bolt = self.hole.shape.core is not None
        return takes_bolt and (self.bolt is not None or self.hole.purpose in _FOR_FASTENERS)

    @property
    def width_mm(self) -> float:
        """The diameter, or a slot's width; at least that of the bolt's thread. 0 for other outlines."""
        return max(self.hole.shape.width_mm or 0.0, self.bolt.diameter_mm if self.bolt else 0.0)

    @property
    def bolt_mm(self) -> float:
        """The bolt's diameter; the hole's, which is larger, where no bolt is named."""
        return self.bolt.diameter_mm if self.bolt else self.width_mm

    def core_box(self) -> Box:
        """Bounds of the core."""
        return locus_box(self.core)

    def gap_to(self, edge: Edge) -> Gap:
        """From the core to an edge."""
        return locus_gap(self.core, edge)


def place_hole(flat_hole: FlatHole) -> PlacedHole:
    """The hole of the flat; raises LookupFault for a fastener that no table holds."""
    hole = flat_hole.hole
    bolt = fastener(hole.fastener) if hole.fastener else None
    core = flat_hole.core or flat_hole.centre
    return PlacedHole(hole, flat_hole.panel, flat_hole.cut, flat_hole.centre, core, bolt)
