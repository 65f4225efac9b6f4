"""From an outline table to the panel's first outline, before its bends are trimmed to their tangent lines."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from bracketgen.description.making.faults import PlacedFault, largest_mm, placed
from bracketgen.description.model.panels import (
    ArmsOutline,
    BeltOutline,
    DiscOutline,
    Outline,
    PolygonOutline,
    RectangleOutline,
)
from bracketgen.description.text import Path
from bracketgen.errors import GeometryFault
from bracketgen.geometry.combine import combine, one_body
from bracketgen.geometry.contour import Circle, Contour, Edge, bar_contour, box_contour, closed_chain, disc_contour
from bracketgen.geometry.crossing import require_simple, shares_carrier
from bracketgen.geometry.edge import Line
from bracketgen.geometry.hull import hull
from bracketgen.geometry.plane import Point
from bracketgen.geometry.rounding import Corner, CornerFit, Reduced, chamfer_corner, round_corner, round_corners
from bracketgen.part.part import Pad
from bracketgen.tolerances import ON_EDGE_MM

#: Every arm is tried against every other: this many take a few seconds.
_MOST_ARM_PADS = 100


@dataclass(frozen=True, slots=True)
class Treatment:
    """What is done to one corner: a radius, or a chamfer leg, mm.

    `own` = the corner itself asks for it; `path` is where the description says so.
    """

    at: Point
    radius_mm: float
    chamfer_mm: float
    own: bool
    path: Path


@dataclass(frozen=True, slots=True)
class FirstOutline:
    """The outline with its named edges (each with the panel on its left) and the corners still to be treated.

    `openings` are rounds inside it that are part of the outline itself; `reduced` lists radii that had no room.
    """

    contour: Contour
    edges: dict[str | int, Line] = field(default_factory=dict)
    treatments: tuple[Treatment, ...] = ()
    openings: tuple[Contour | Circle, ...] = ()
    reduced: tuple[Reduced, ...] = ()


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What an outline has to take in: the metal around holes, bend lines, its own foot on a bend.

    `lines` are the bend lines of its children in its frame, `foot` the stretch of y = 0 where it is bent on.
    """

    pads: Sequence[Pad]
    lines: Sequence[Line]
    foot: Line | None

    @property
    def bend_lines(self) -> list[Line]:
        """The children's and the panel's own."""
        return [*self.lines, *([self.foot] if self.foot else [])]


def first_outline(
    table: Outline, path: Path, around: Surroundings, left_mm: float, width_mm: float | None
) -> FirstOutline:
    """The outline of a panel, described at `path`.

    `left_mm` and `width_mm` come from the bend where the table leaves them out. Raises GeometryFault, PlacedFault.
    """
    match table:
        case RectangleOutline():
            return _rectangle(table, path, left_mm, width_mm)
        case PolygonOutline():
            return _polygon(table, path)
        case DiscOutline():
            centre = Point(*table.at)
            disc = disc_contour(centre, table.diameter / 2)
            if table.inside is None:
                return FirstOutline(disc)
            if table.inside >= table.diameter:
                what = f"an opening of {table.inside:g} mm leaves nothing of a disc of {table.diameter:g} mm"
                raise PlacedFault((*path, "inside"), what, "give a smaller opening")
            return FirstOutline(disc, openings=(Circle(centre, table.inside / 2),))
        case BeltOutline():
            points = [Circle(p, 0.0) for line in around.bend_lines for p in (line.start, line.end)]
            return FirstOutline(hull([*_all_pads(table, around), *points]))
        case ArmsOutline():
            return _arms(table, around)


def _rectangle(table: RectangleOutline, path: Path, left: float, width: float | None) -> FirstOutline:
    if width is None:
        raise GeometryFault("the rectangle lacks the key 'width'", None, "only a bent panel takes its bend's width")
    box = box_contour(left, 0.0, left + width, table.height)
    bottom, right, top, left_edge = (e for e in box.edges if isinstance(e, Line))
    edges: dict[str | int, Line] = {"bottom": bottom, "right": right, "top": top, "left": left_edge}
    treat = _common_treatment(table, path)
    corners = box.vertices() if table.corner_radius or table.chamfer else ()
    return FirstOutline(box, edges, tuple(treat(p) for p in corners))


def _common_treatment(table: RectangleOutline | PolygonOutline, path: Path) -> Callable[[Point], Treatment]:
    """What is done to each corner that says nothing of itself."""
    where = (*path, "corner_radius" if table.corner_radius else "chamfer")
    return lambda p: Treatment(p, table.corner_radius, table.chamfer, False, where)


def _polygon(table: PolygonOutline, path: Path) -> FirstOutline:
    corners = [Point(*c.at) for c in table.corners]
    for i, p in enumerate(corners):
        if p.distance(corners[i - 1]) < 1e-6:
            what = f"corner {i + 1} stands on the corner before it, at ({p.x:.2f}, {p.y:.2f}) mm"
            raise PlacedFault((*path, "corners", i), what, "leave one of them out")
    with placed((*path, "corners")):
        chain = require_simple(closed_chain(corners), "the polygon")
    n = len(corners)
    edges: dict[str | int, Line] = {}
    for i in range(n):
        line = Line(corners[i], corners[(i + 1) % n])
        edges[i + 1] = line if chain.area > 0 else line.reversed()
    common = _common_treatment(table, path)
    treat = []
    for i, (c, p) in enumerate(zip(table.corners, corners, strict=True)):
        own = c.radius is not None or c.chamfer is not None
        here = (*path, "corners", i, "chamfer" if c.chamfer else "radius")
        treat.append(Treatment(p, c.radius or 0.0, c.chamfer or 0.0, True, here) if own else common(p))
    return FirstOutline(chain.anticlockwise(), edges, tuple(t for t in treat if t.radius_mm or t.chamfer_mm))


def _all_pads(table: BeltOutline | ArmsOutline, around: Surroundings) -> list[Circle]:
    """The metal around holes and the outline's own pads, none over a bend's tangent line. Raises GeometryFault."""
    pads = [Circle(p.centre, p.radius_mm) for p in around.pads] + [Circle(Point(*p.at), p.radius) for p in table.pads]
    if not pads:
        raise GeometryFault("nothing to go around", None, "add holes, or pads = [{ at = [x, y], radius = r }]")
    if isinstance(table, ArmsOutline) and len(pads) > _MOST_ARM_PADS:
        cure = f"{_MOST_ARM_PADS} at most; a belt or a polygon takes any number"
        raise GeometryFault(f"{len(pads)} pads are too many for arms", None, cure)
    for line, metal_side in [*((line, -1) for line in around.lines), *([(around.foot, 1)] if around.foot else [])]:
        along = line.end.minus(line.start).unit()
        for pad in pads:
            u = pad.centre.minus(line.start).dot(along)
            over = pad.radius - metal_side * along.cross(pad.centre.minus(line.start))
            if over > 1e-6 and -pad.radius < u < line.length + pad.radius:
                raise GeometryFault(
                    f"the metal around a hole reaches {over:.2f} mm over the tangent line of a bend",
                    pad.centre,
                    f"set hole and bend {over:.2f} mm farther apart, or give a smaller pad",
                )
    return pads


def _arms(table: ArmsOutline, around: Surroundings) -> FirstOutline:
    pads = _all_pads(table, around)
    pieces = [disc_contour(p.centre, p.radius) for p in pads]
    if table.hub is not None:
        hub = Circle(Point(*table.hub), table.hub_radius or table.arm / 2)
        pieces.append(disc_contour(hub.centre, hub.radius))
        joints = [(hub.centre, p.centre) for p in pads if p.centre != hub.centre]
    else:
        joints = [(a.centre, b.centre) for a, b in pairwise(pads) if a.centre != b.centre]
    pieces += [bar_contour(a, b, table.arm) for a, b in joints]
    for line in around.bend_lines:
        nearest = min(pads, key=lambda p: line.nearest(p.centre).distance(p.centre))
        pieces.append(hull([nearest, Circle(line.start, 0.0), Circle(line.end, 0.0)]))
    body = one_body(combine(pieces), "the outline of pads and arms")
    if not table.fillet:
        return FirstOutline(body.outer, openings=body.inner)
    outer, reduced = round_corners(body.outer, table.fillet, Corner.HOLLOW, CornerFit.LARGEST)
    inner = []
    for opening in body.inner:
        # Seen from the metal, the corners of an opening are hollow where they stick out of the opening.
        rounded, less = round_corners(opening.reversed(), table.fillet, Corner.OUTER, CornerFit.LARGEST)
        inner.append(rounded)
        reduced += less
    return FirstOutline(outer, openings=tuple(inner), reduced=reduced)


def corner_edges(first: FirstOutline, chain: Contour) -> tuple[tuple[Treatment, Edge], ...]:
    """The rounds and chamfers of a treated outline, each with what asked for it."""
    new = [e for e in chain.edges if not any(shares_carrier(e, side) for side in first.contour.edges)]
    return tuple((min(first.treatments, key=lambda t: e.nearest(t.at).distance(t.at)), e) for e in new)


def length_left_mm(edge: Edge, outline: Contour) -> float:
    """How much of an edge an outline still has."""
    on_it = (e for e in outline.edges if shares_carrier(e, edge))
    return math.fsum(e.length for e in on_it if edge.nearest(e.middle).distance(e.middle) < ON_EDGE_MM)


def treated(first: FirstOutline, bent_edges: Sequence[Line]) -> Contour:
    """The outline with its corner radii and chamfers, leaving alone the corners at the ends of bent edges."""
    chain = first.contour
    ends = [p for line in bent_edges for p in (line.start, line.end)]
    common: list[Treatment] = []
    for corner in first.treatments:
        if any(corner.at.distance(p) < 1e-6 for p in ends):
            if corner.own:
                cure = "leave the corner plain"
                raise PlacedFault(corner.path, "this corner lies on a bend line and can't be rounded", cure)
            continue
        if corner.own:
            with placed(corner.path):
                chain = _treat(chain, [corner])
        else:
            common.append(corner)
    if not common:
        return chain
    try:
        return _treat(chain, common)
    except GeometryFault as error:
        # What doesn't fit is told with the largest that fits all.
        asked = common[0].chamfer_mm or common[0].radius_mm
        largest = largest_mm(lambda size: _treat(chain, common, size), asked)
        cure = f"the largest that fits all corners is {largest:g} mm" if largest else error.cure
        raise PlacedFault(common[0].path, str(error), cure) from None


def _treat(chain: Contour, corners: Sequence[Treatment], size_mm: float | None = None) -> Contour:
    """The chain with these corners treated, all with `size_mm` when it is given."""
    for corner in corners:
        if corner.chamfer_mm:
            chain = chamfer_corner(chain, corner.at, size_mm or corner.chamfer_mm)
        else:
            chain = round_corner(chain, corner.at, size_mm or corner.radius_mm)
    return chain
