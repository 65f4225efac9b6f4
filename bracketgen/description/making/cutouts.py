"""Openings, notches and saddles."""

from __future__ import annotations

from dataclasses import dataclass

from bracketgen.description.model.holes import CutoutTable, SaddleTable
from bracketgen.errors import GeometryFault
from bracketgen.geometry.contour import Circle, Contour, Cut, box_contour
from bracketgen.geometry.inside import holds
from bracketgen.geometry.meet import meeting_points
from bracketgen.geometry.placement import Placement
from bracketgen.geometry.point import Point
from bracketgen.geometry.rounding import Corner, Fit, round_corners
from bracketgen.geometry.shapes import polygon_contour, slot_contour
from bracketgen.geometry.simple import require_simple


@dataclass(frozen=True, slots=True)
class CutOut:
    """A shape to be taken out of a panel, in its frame."""

    name: str
    cut: Cut

    @property
    def chain(self) -> Contour:
        """As a closed chain, anticlockwise."""
        return self.cut.contour() if isinstance(self.cut, Circle) else self.cut


def cutout(table: CutoutTable, name: str) -> CutOut:
    """The shape of a cut-out, grown by its clearance. Raises GeometryFault."""
    move = Placement.turned(table.turned, Point(*table.at))
    gap = table.clearance
    if table.shape == "disc":
        return CutOut(name, Circle(Point(*table.at), (table.diameter or 0.0) / 2 + gap))
    if table.shape == "slot":
        length, width = table.size or (0.0, 0.0)
        if length <= width:
            raise GeometryFault("a slot is longer than it is wide", None, "size = [length over all, width]")
        return CutOut(name, slot_contour(Point(0.0, 0.0), length + 2 * gap, width + 2 * gap, 0.0).moved(move))
    if table.shape == "rectangle":
        across, up = table.size or (0.0, 0.0)
        chain = box_contour(-across / 2 - gap, -up / 2 - gap, across / 2 + gap, up / 2 + gap)
    else:
        if gap:
            raise GeometryFault("clearance is not known for a polygon", None, "draw the polygon with its clearance")
        chain = require_simple(polygon_contour([Point(*p) for p in table.points or ()]), "the cut-out")
    # Room of the same gap round a corner is a round of that radius.
    radius = table.corner_radius + gap
    if radius:
        chain, _ = round_corners(chain, radius, Corner.OUTER, Fit.EXACT)
        chain, _ = round_corners(chain, radius, Corner.HOLLOW, Fit.EXACT)
    return CutOut(name, chain.moved(move))


def saddle(table: SaddleTable, name: str) -> CutOut:
    """The round that a tube needs, with its gap."""
    return CutOut(name, Circle(Point(*table.at), table.tube / 2 + table.gap))


def crosses(body: Contour, shape: CutOut) -> bool:
    """Whether the shape runs over the outline (a notch) rather than lying inside it (an opening).

    Raises GeometryFault when it lies outside altogether.
    """
    if any(meeting_points(a, b) for a in body.edges for b in shape.chain.edges):
        return True
    if not holds(body, shape.chain.edges[0].start):
        raise GeometryFault(f"{shape.name} cuts nothing: it lies outside the panel")
    return False
