"""Openings, notches and saddles: their shapes, and how they are taken out of a panel."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bracketgen.description.making.bends import BendSide, tangent_span
from bracketgen.description.making.faults import PlacedFault, largest_mm, placed
from bracketgen.description.making.tree import Span
from bracketgen.description.model.holes import CutoutTable, SaddleTable
from bracketgen.description.text import Path
from bracketgen.errors import GeometryFault
from bracketgen.geometry.combine import Region, combine
from bracketgen.geometry.contour import Circle, Contour, Cut, box_contour, closed_chain, holds, slot_contour
from bracketgen.geometry.crossing import line_line, meeting_points, require_simple
from bracketgen.geometry.edge import Line
from bracketgen.geometry.plane import Placement, Point
from bracketgen.geometry.rounding import Corner, CornerFit, round_corners

_ON_LINE_MM = 1e-6


@dataclass(frozen=True, slots=True)
class CutOut:
    """A shape to be taken out of a panel, in its frame."""

    name: str
    cut: Cut

    @property
    def chain(self) -> Contour:
        """As a closed chain, anticlockwise."""
        return self.cut.contour()


def cutout(table: CutoutTable, name: str, path: Path) -> CutOut:
    """The shape of a cut-out described at `path`, grown by its clearance. Raises PlacedFault."""
    move = Placement.turned(table.turned, Point(*table.at))
    gap = table.clearance
    if table.shape == "disc":
        return CutOut(name, Circle(Point(*table.at), (table.diameter or 0.0) / 2 + gap))
    if table.shape == "slot":
        length, width = table.size or (0.0, 0.0)
        if length <= width:
            what = f"a slot {length:g} mm long is no longer than its width of {width:g} mm"
            raise PlacedFault((*path, "size"), what, "size = [length over all, width]")
        return CutOut(name, slot_contour(Point(0.0, 0.0), length + 2 * gap, width + 2 * gap, 0.0).moved(move))
    if table.shape == "rectangle":
        across, up = table.size or (0.0, 0.0)
        chain = box_contour(-across / 2 - gap, -up / 2 - gap, across / 2 + gap, up / 2 + gap)
    else:
        with placed((*path, "points")):
            plain = require_simple(closed_chain([Point(*p) for p in table.points or ()]), "the cut-out").anticlockwise()
        with placed((*path, "clearance")):
            chain = _grown(plain, gap) if gap else plain
    return CutOut(name, _rounded(chain, table, path).moved(move))


def _rounded(chain: Contour, table: CutoutTable, path: Path) -> Contour:
    """Room of the same gap round a corner that sticks out makes its radius larger, in a hollow one smaller."""
    gap, radius = table.clearance, table.corner_radius

    def with_radius(own_mm: float) -> Contour:
        made = chain
        for kind, r in ((Corner.OUTER, own_mm + gap), (Corner.HOLLOW, own_mm - gap)):
            if r > 0:
                made, _ = round_corners(made, r, kind, CornerFit.EXACT)
        return made

    try:
        return with_radius(radius)
    except GeometryFault as error:
        cure = f"the largest that fits all corners is {largest_mm(with_radius, radius):g} mm"
        raise PlacedFault((*path, "corner_radius" if radius else "clearance"), str(error), cure) from None


def _grown(chain: Contour, gap: float) -> Contour:
    """The polygon with every side moved outward by `gap`, its corners sharp."""
    sides = [e for e in chain.edges if isinstance(e, Line)]
    ways = [e.end.minus(e.start).unit() for e in sides]
    starts = [e.start.plus(d.left(), -gap) for e, d in zip(sides, ways, strict=True)]
    corners = []
    for i, (p, d) in enumerate(zip(starts, ways, strict=True)):
        met = line_line(starts[i - 1], ways[i - 1], p, d)
        corners.append(p if met is None else met)
    for i, d in enumerate(ways):
        if corners[(i + 1) % len(corners)].minus(corners[i]).dot(d) <= 0:
            cure = "draw the polygon with its clearance"
            raise GeometryFault(f"a side has no room for a clearance of {gap:g} mm", sides[i].start, cure)
    return require_simple(closed_chain(corners), "the cut-out with its clearance")


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


def notched(
    body: Contour, notches: Sequence[tuple[Path, Contour]], sides: Sequence[tuple[BendSide, Span]], what: str
) -> Region:
    """The panel less its notches, its bends whole. Raises PlacedFault at the first notch that spoils it."""
    chains = [chain for _, chain in notches]
    regions = combine([body], chains)
    if not _trouble(regions, sides, what):
        return regions[0]
    for n, (path, _) in enumerate(notches, start=1):
        trouble = _trouble(combine([body], chains[:n]), sides, what)
        if trouble:
            raise PlacedFault(path, *trouble)
    raise AssertionError("all notches together are the last that was tried")


def _trouble(regions: Sequence[Region], sides: Sequence[tuple[BendSide, Span]], what: str) -> tuple[str, str] | None:
    if not regions:
        return f"it takes all of {what} away", "make it smaller, or move it"
    if len(regions) > 1:
        x, y = regions[1].outer.edges[0].start
        return f"with it {what} falls into {len(regions)} pieces, one at ({x:.2f}, {y:.2f}) mm", "leave metal between"
    for side, span in sides:
        try:
            whole = tangent_span(side, regions[0].outer, span).length > span.length - _ON_LINE_MM
        except GeometryFault:
            whole = False
        if not whole:
            return f"it cuts into {side.bend}", "keep it clear of the tangent line, or bend two narrower panels"
    return None
