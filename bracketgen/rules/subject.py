"""Everything that a rule may look at, each derived thing worked out once."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

from bracketgen.bending.flat import Flat, Strip
from bracketgen.bending.fold import Folded
from bracketgen.geometry.contour import Contour, Cut, Edge
from bracketgen.geometry.edge import Box, Line
from bracketgen.geometry.facing import Facing, facing_pairs
from bracketgen.geometry.gap import Gap, Locus, locus_box, locus_gap, near_pairs
from bracketgen.geometry.plane import Point
from bracketgen.part.hole import Hole, Purpose
from bracketgen.part.part import Part
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


@dataclass(frozen=True, slots=True)
class Tangent:
    """The line in the flat where a panel ends and a bend's strip begins."""

    strip: Strip
    panel: str
    line: Line


class Subject:
    """A part, its flat and its folded shape; all places in the flat's frame, mm."""

    def __init__(self, flat: Flat, folded: Folded) -> None:
        self.flat = flat
        self.folded = folded

    @property
    def part(self) -> Part:
        """The part that the flat was made from."""
        return self.flat.part

    @property
    def thickness_mm(self) -> float:
        """Thickness of the stock."""
        return self.part.stock.thickness_mm

    @cached_property
    def bounds_mm(self) -> Box:
        """The box around the flat's outline."""
        return self.flat.bounds_mm

    @cached_property
    def holes(self) -> tuple[PlacedHole, ...]:
        """All holes where they lie in the flat. Raises LookupFault for a fastener that no table holds."""
        placed = []
        for h in self.flat.holes:
            bolt = fastener(h.hole.fastener) if h.hole.fastener else None
            placed.append(PlacedHole(h.hole, h.panel, h.cut, h.centre, h.core or h.centre, bolt))
        return tuple(placed)

    @cached_property
    def fastener_holes(self) -> tuple[PlacedHole, ...]:
        """The holes whose edge is loaded by a bolt, a pin or a rivet nut."""
        return tuple(h for h in self.holes if h.carries_fastener)

    @cached_property
    def tangents(self) -> dict[str, tuple[Tangent, ...]]:
        """The tangent lines of each panel that has bends."""
        found: dict[str, tuple[Tangent, ...]] = {}
        for strip in self.flat.strips:
            for panel, across in ((strip.bend.parent, 0.0), (strip.bend.child, strip.metal.allowance_mm)):
                found[panel] = (*found.get(panel, ()), Tangent(strip, panel, strip.line_at(across)))
        return found

    @cached_property
    def metal_edges(self) -> tuple[Edge, ...]:
        """The edges that a bolt hole must keep away from: the outline, and every opening that takes no fastener."""
        edges = list(self.flat.outline.edges)
        for opening in self.flat.openings:
            edges += opening.edges
        for h in self.holes:
            cut_out = h.hole.purpose is Purpose.OPENING or h.hole.shape.core is None
            if cut_out and not h.carries_fastener:
                edges += h.cut.contour().edges
        return tuple(edges)

    def edge_gaps(self, holes: Sequence[PlacedHole], reach_mm: Sequence[float]) -> Iterator[tuple[int, Gap]]:
        """The gap from a hole's core to its nearest metal edge, for every hole (by place) with one within its reach."""
        edges, least = self.metal_edges, dict[int, Gap]()
        for i, j in near_pairs([h.core_box() for h in holes], reach_mm, self._metal_edge_boxes):
            gap = holes[i].gap_to(edges[j])
            if i not in least or gap.mm < least[i].mm:
                least[i] = gap
        yield from least.items()

    @cached_property
    def _metal_edge_boxes(self) -> list[Box]:
        return [e.bounds() for e in self.metal_edges]

    @cached_property
    def chains(self) -> tuple[tuple[str, Contour], ...]:
        """Every closed chain of the flat that is no circle, by name, anticlockwise; the outline comes first."""
        openings = [(f"opening {i}", c.anticlockwise()) for i, c in enumerate(self.flat.openings, 1)]
        cuts = [(h.id, h.cut.contour().anticlockwise()) for h in self.holes if h.hole.shape.bore_mm is None]
        return (("outline", self.flat.outline), *openings, *cuts)

    @cached_property
    def facing(self) -> tuple[tuple[str, tuple[Facing, ...]], ...]:
        """Where each chain runs close to itself, within what the cutting process minds."""
        process, t = self.part.stock.process, self.thickness_mm
        within = max(process.minimum_web_mm(t), process.minimum_slot_mm(t))
        slots = {h.id for h in self.holes if h.hole.shape.slot_mm is not None}
        return tuple((name, facing_pairs(chain, within)) for name, chain in self.chains if name not in slots)

    @cached_property
    def cuts(self) -> tuple[tuple[str, Cut], ...]:
        """Every inner edge of the finished blank, by name."""
        openings = [(f"opening {i}", c) for i, c in enumerate(self.flat.openings, 1)]
        return (*openings, *((h.id, h.cut) for h in self.holes))
