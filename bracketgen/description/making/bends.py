"""Every panel of the tree trimmed to the tangent lines of its bends, with reliefs where they are needed.

Parents come first: a child that names no width is as wide as its bend. Where two bends of one panel end in the
same corner, both are made shorter and a round is cut out of the corner, which can narrow a child; the tree is then
shaped again, until nothing changes.

Along a bend, `u` counts from the left end of the parent's edge, with the child on the left of the line. In the frame
of a bend's side x is u and y points to the child; the parent's metal lies below its line, the child's above.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from bracketgen.description.making.faults import Collector, PlacedFault, placed
from bracketgen.description.making.outline import (
    FirstOutline,
    Surroundings,
    Treatment,
    corner_edges,
    first_outline,
    treated,
)
from bracketgen.description.making.tree import PlannedBend, PlannedPanel, Span, own_foot, own_left
from bracketgen.description.model.panels import ArmsOutline, BeltOutline
from bracketgen.errors import GeometryFault
from bracketgen.geometry.combine import Region, combine, one_body
from bracketgen.geometry.contour import Circle, Contour, Edge, box_contour, disc_contour, holds
from bracketgen.geometry.crossing import meeting_points
from bracketgen.geometry.edge import Arc, Line
from bracketgen.geometry.gap import piece_gap
from bracketgen.geometry.plane import Placement, Point
from bracketgen.part.part import Stock
from bracketgen.tolerances import SHORTEST_EDGE_MM
from bracketgen.units import INCH_MM

_SAME_CORNER_MM = 1e-3
_ON_LINE_MM = 1e-6
#: A bend that ends this near to the end of an edge, or of its metal, ends with it: no relief fits beside it.
_FLUSH_MM = SHORTEST_EDGE_MM
#: A relief whose corner all but falls on an edge of the panel is made deeper by the first of these that helps.
_DEEPER_MM = (0.3, 0.6, 1.2)
#: How far a cut reaches over the described edge or out of the metal; nothing of the panel lies there.
_OVER_MM = 1.0
_MOST_ROUNDS = 5
#: A panel is followed this far beyond the end of an edge, in setbacks: to corners of 166 deg. Own choice.
_WIDEST_SPREAD = 4.0
_TRIMMED = "a panel goes on beyond the tangent lines of its bends, which lie inside the described edges"


@dataclass(frozen=True, slots=True)
class BendSide:
    """One side of a bend: the described edge in that panel's frame, and how far back the tangent line lies."""

    bend: str
    of_parent: bool
    line: Line
    setback_mm: float

    @property
    def away(self) -> int:
        """The sign of y on which the panel's own metal does not lie."""
        return 1 if self.of_parent else -1

    @property
    def frame(self) -> Placement:
        """x along u, y to the child."""
        return Placement.along(self.line.start, self.line.end)

    @property
    def tangent_y(self) -> float:
        """Where the tangent line lies in the side's frame."""
        return -self.setback_mm * self.away

    def point(self, u: float, beyond_mm: float) -> Point:
        """A point at u, `beyond_mm` past the tangent line as seen from the panel's metal (negative: in the metal)."""
        return self.frame.point(Point(u, self.tangent_y + beyond_mm * self.away))

    def box(self, span: Span, low_mm: float, high_mm: float) -> Contour:
        """A box over a span of u, from `low` to `high` past the tangent line."""
        ys = sorted((self.tangent_y + low_mm * self.away, self.tangent_y + high_mm * self.away))
        return box_contour(span.start, ys[0], span.end, ys[1]).moved(self.frame)

    def tangent(self, span: Span) -> Line:
        """The stretch of the tangent line in the panel's frame."""
        return Line(self.point(span.start, 0.0), self.point(span.end, 0.0))


_NOTHING = Span(0.0, 0.0)


@dataclass(slots=True)
class PlacedBend:
    """A bend being settled: both its sides, and how much of them it takes.

    `zero_u` is the child's x = 0 in u; `own` the child's own foot at its tangent line, `described` that on its edge;
    `parent_edge` is the parent's metal on the tangent line, `on_parent` and `on_child` what the panels let the bend
    take of it, `auto` what the parent leaves the child, `span` what it ends up with.
    """

    plan: PlannedBend
    length_mm: float
    zero_u: float
    parent: BendSide
    child: BendSide
    own: Span | None
    described: Span | None
    auto: Span = _NOTHING
    parent_edge: Span = _NOTHING
    on_parent: Span = _NOTHING
    on_child: Span = _NOTHING
    span: Span = _NOTHING

    @property
    def flush(self) -> tuple[bool, bool]:
        """Whether the bend takes its edge to the start and to the end.

        By the child's foot as described: what a slanted side takes off it up to the tangent line is no metal.
        """
        foot = self.described
        return foot is None or foot.start <= _FLUSH_MM, foot is None or foot.end >= self.length_mm - _FLUSH_MM

    @property
    def on_edge(self) -> Span:
        """The stretch of the parent's edge that is cut back to the tangent line."""
        return self._own_or(0.0, self.length_mm)

    def within_own(self, span: Span) -> Span:
        """The part of a stretch that the child's own foot leaves, where the bend is not flush with the edge's ends."""
        return span.both(self._own_or(-math.inf, math.inf))

    def _own_or(self, start: float, end: float) -> Span:
        """The child's own foot, with these ends where the bend is flush with its edge."""
        if self.own is None:
            return Span(start, end)
        at_start, at_end = self.flush
        return Span(start if at_start else self.own.start, end if at_end else self.own.end)


@dataclass(slots=True)
class Shape:
    """A panel being shaped; `corners` are its rounds and chamfers before anything was cut."""

    plan: PlannedPanel
    first: FirstOutline
    corners: tuple[tuple[Treatment, Edge], ...]
    body: Contour
    sides: list[BendSide]


class Shaping:
    """The shapes of all panels and the spans of all bends."""

    def __init__(self, plans: Sequence[PlannedPanel], stock: Stock, faults: Collector) -> None:
        self.plans = plans
        self.stock = stock
        self.faults = faults
        self.shapes: dict[str, Shape] = {}
        self.bends: dict[str, PlacedBend] = {}
        self.corners: dict[str, list[Circle]] = {}
        #: What a bend gives up at an end for a corner: by bend, whether the corner is its parent's, end.
        self._shortened: dict[tuple[str, bool, int], float] = {}

    def run(self) -> None:
        """Shapes the whole tree until corners no longer move anything. Raises InputFaults, GeometryFault."""
        failed: set[str] = set()
        for _ in range(_MOST_ROUNDS):
            for plan in self.plans:
                before = len(self.faults.faults)
                # A child can't be shaped on a parent that was not.
                orphan = plan.foot is not None and plan.foot.parent in failed
                if not orphan:
                    with self.faults.at(plan.path):
                        self._shape(plan)
                if orphan or len(self.faults.faults) > before:
                    failed.add(plan.id)
            self.faults.stop_if_any()
            if self._settle():
                return
        raise GeometryFault("bends that meet in corners don't leave each other room")

    # -- one panel, whose parent is shaped already

    def _shape(self, plan: PlannedPanel) -> None:
        foot = self.bends[plan.foot.id] if plan.foot else None
        path = (*plan.path, "outline")
        with placed(path):
            first = first_outline(plan.table.outline, path, _around(plan, foot), *_left_width(plan, foot))
        children = [self._place(bend, plan, first) for bend in plan.children]
        own_edges = [e for e in first.edges.values() if abs(e.start.y) < 1e-6 and abs(e.end.y) < 1e-6] if foot else []
        chain = treated(
            first, [_taken(b, _edge(first, b.plan)) for b in children if b.plan.edge is not None] + own_edges
        )
        boxes = [_trimming_box(b.parent, b.on_edge, self._spread(b, chain)) for b in children]
        if foot:
            # The stretch of u over which the panel's own foot runs, as described.
            xs = [p.x for e in own_edges for p in (e.start, e.end)]
            on_foot = Span(min(xs) + foot.zero_u, max(xs) + foot.zero_u) if xs else foot.own or foot.auto
            boxes.append(_trimming_box(foot.child, on_foot, _flares(foot.child, chain, on_foot)))
            top = chain.bounds()[3]
            if top < foot.child.setback_mm + SHORTEST_EDGE_MM:
                what = f"panel '{plan.id}' is {top:g} mm high and ends within its bend"
                cure = f"the bend's tangent line lies at {foot.child.setback_mm:.2f} mm; make the panel higher"
                raise PlacedFault((*path, "height"), what, cure)
        sides = [b.parent for b in children] + ([foot.child] if foot else [])
        with placed(path):
            body = _trimmed(chain, [b for b in boxes if b is not None], sides, f"panel '{plan.id}'")
        for b in children:
            with placed(b.plan.path):
                b.parent_edge = tangent_span(b.parent, body, _reach(b.parent, b.on_edge))
                b.on_parent = b.within_own(b.parent_edge)
            b.auto = b.on_parent.shrunk(*self._less(b.plan.id, True))
        if foot:
            with placed(foot.plan.path):
                foot.on_child = tangent_span(foot.child, body, _reach(foot.child, on_foot))
        self.shapes[plan.id] = Shape(plan, first, corner_edges(first, chain), body, sides)

    def _place(self, bend: PlannedBend, plan: PlannedPanel, first: FirstOutline) -> PlacedBend:
        """A bend of a panel's child, on both."""
        if bend.line is not None:
            line, setback = _described_line(bend, plan), 0.0
        else:
            line, setback = _edge(first, bend).reversed(), bend.parent_setback_mm
        length = line.length
        child = next(p for p in self.plans if p.id == bend.child)
        zero = {"left": 0.0, "middle": length / 2, "right": length}[child.table.origin] + bend.shift_mm
        if bend.keeps_x:
            zero = -line.start.x
        low = bend.child_setback_mm if isinstance(child.table.outline, BeltOutline | ArmsOutline) else 0.0
        own, described = (own_foot(child.table, y) for y in (bend.child_setback_mm, 0.0))
        if described and described.length < length - _SAME_CORNER_MM:
            # Numbers are typed with few decimals: a bend meant to end with its edge does.
            off = (zero + described.start, zero + described.end - length)
            zero -= next((by for by in off if abs(by) < _SAME_CORNER_MM), 0.0)
        made = PlacedBend(
            bend,
            length,
            zero,
            BendSide(bend.id, True, line, setback),
            BendSide(bend.id, False, Line(Point(-zero, low), Point(length - zero, low)), bend.child_setback_mm - low),
            own and own.shrunk(zero, -zero),
            described and described.shrunk(zero, -zero),
        )
        self.bends[bend.id] = made
        return made

    def _less(self, bend: str, of_parent: bool) -> tuple[float, float]:
        return self._shortened.get((bend, of_parent, 0), 0.0), self._shortened.get((bend, of_parent, 1), 0.0)

    def _spread(self, bend: PlacedBend, outline: Contour) -> tuple[float, float]:
        """How far the parent's trimming goes over the ends of the edge.

        Where it is flush with one end only, a corner that is nearly straight goes on beside it as an edge would.
        """
        flares = _flares(bend.parent, outline, Span(0.0, bend.length_mm))
        if all(bend.flush):
            return flares
        most = _WIDEST_SPREAD * bend.parent.setback_mm
        start, end = (by if at and by < most else 0.0 for by, at in zip(flares, bend.flush, strict=True))
        return start, end

    # -- where bends meet

    def _settle(self) -> bool:
        """Fixes every bend's span and the corners where two meet; True when nothing changed since last time."""
        before, reaches = self._shortened, {}
        for key, bend in self.bends.items():
            # As far as both panels let the bend go, before corners shorten it.
            start, end = self._less(key, True)
            reaches[key] = bend.on_parent.both(bend.on_child if bend.own else bend.on_child.shrunk(-start, -end))
        self._shortened = {}
        for plan in self.plans:
            self.corners[plan.id] = []
            self._find_corners(plan, reaches)
        for key, bend in self.bends.items():
            bend.span = self._clear_of_steps(
                bend, reaches[key].shrunk(*map(max, self._less(key, True), self._less(key, False)))
            )
            if bend.span.length < self.stock.thickness_mm:
                what = f"{key} has no room: it would be {max(0.0, bend.span.length):.2f} mm wide"
                raise PlacedFault(bend.plan.path, what, "give it more of the edge, or smaller reliefs")
        return self._shortened == before

    def _clear_of_steps(self, bend: PlacedBend, span: Span) -> Span:
        """The bend made shorter where metal goes on beside its end too little to cut a relief into."""

        def less(gaps: tuple[float, float]) -> float:
            return self.stock.thickness_mm if any(_ON_LINE_MM < gap < _FLUSH_MM for gap in gaps) else 0.0

        parent, child = bend.parent_edge, bend.on_child
        return span.shrunk(
            less((span.start - parent.start, span.start - child.start)),
            less((parent.end - span.end, child.end - span.end)),
        )

    def _find_corners(self, plan: PlannedPanel, reaches: dict[str, Span]) -> None:
        ends = []
        for side in self.shapes[plan.id].sides:
            span = reaches[side.bend]
            ends += [(side, 0, side.point(span.start, 0.0)), (side, 1, side.point(span.end, 0.0))]
        for i, (side, end, p) in enumerate(ends):
            for other, other_end, q in ends[:i]:
                if other.bend == side.bend or p.distance(q) > _SAME_CORNER_MM:
                    continue
                # Half of the FAA's relief hole: about twice the inside radius in diameter (FAA-H-8083-31 ch. 4).
                plans = [self.bends[s.bend].plan for s in (side, other)]
                r = max(max(b.inside_radius_mm, usual_relief(b, self.stock)[0] / 2) for b in plans)
                self.corners[plan.id].append(Circle(p, r))
                for s, at in ((side, end), (other, other_end)):
                    key = (s.bend, s.of_parent, at)
                    self._shortened[key] = max(self._shortened.get(key, 0.0), r)

    # -- reliefs

    def relieved(self, shape: Shape) -> Contour:
        """The panel's outline with corner rounds and the slots beside its bends' ends."""
        cuts = [disc_contour(c.centre, c.radius) for c in self.corners[shape.plan.id]]
        body = one_body(combine([shape.body], cuts), f"panel '{shape.plan.id}'").outer if cuts else shape.body
        ends = [
            (side, u, outward)
            for side in shape.sides
            for u, outward in ((self.bends[side.bend].span.start, -1), (self.bends[side.bend].span.end, 1))
            # Metal goes on beside the end of the bend, along the tangent line or past it.
            if any(holds(body, side.point(u + outward * _FLUSH_MM, beyond)) for beyond in (-0.01, 0.01))
        ]
        if not ends:
            return body
        first = self._with_reliefs(shape, body, ends, 0.0)
        tries = (self._with_reliefs(shape, body, ends, deeper) if deeper else first for deeper in (0.0, *_DEEPER_MM))
        return next((made for made in tries if min(e.length for e in made.edges) >= SHORTEST_EDGE_MM), first)

    def _with_reliefs(
        self, shape: Shape, body: Contour, ends: Sequence[tuple[BendSide, float, int]], deeper_mm: float
    ) -> Contour:
        """The outline less the slots at these ends of bends, each of the usual depth deeper by so much."""
        bent = [(side, side.tangent(self.bends[side.bend].span)) for side in shape.sides]
        slots, deepest = [], 0.0
        for side, u, outward in ends:
            told = self.bends[side.bend].plan.relief
            width, depth = usual_relief(self.bends[side.bend].plan, self.stock)
            depth += deeper_mm if told.depth is None else 0.0
            slot = _relief_cut(side, body, u, outward, (width, depth), told.shape == "round")
            horn = _horn_mm(side, body, u, outward, slot, self.stock) if told.width is None else 0.0
            if width < horn < 2 * width + self.stock.process.minimum_web_mm(self.stock.thickness_mm):
                wider = _relief_cut(side, body, u, outward, (horn + _OVER_MM, depth), told.shape == "round")
                if not any(_cuts_into(wider, line) for other, line in bent if other is not side):
                    slot = wider
            slots.append(slot)
            deepest = max(deepest, depth)
        left = combine([body], slots, drop_slivers=True)
        middles = [line.middle.plus(line.direction_at(line.start).left(), -0.01 * side.away) for side, line in bent]
        return _hanging(left, shape.sides, deepest, middles, f"panel '{shape.plan.id}' with reliefs").outer


def _around(plan: PlannedPanel, foot: PlacedBend | None) -> Surroundings:
    lines = [_described_line(bend, plan) for bend in plan.children if bend.line is not None]
    base = None
    if foot and isinstance(plan.table.outline, BeltOutline | ArmsOutline):
        left, width = _left_width(plan, foot)
        y = foot.plan.child_setback_mm
        base = Line(Point(left, y), Point(left + (width or 0.0), y))
    return Surroundings(plan.pads, lines, base)


def _left_width(plan: PlannedPanel, foot: PlacedBend | None) -> tuple[float, float | None]:
    """Left end and width of the panel in its own frame: its own, or the bend's."""
    width = getattr(plan.table.outline, "width", None)
    if width is not None:
        return own_left(plan.table, width), float(width)
    if foot is None:
        return 0.0, None
    return foot.auto.start - foot.zero_u, foot.auto.length


def _edge(first: FirstOutline, bend: PlannedBend) -> Line:
    # Whether the parent has that edge was seen to before any panel was shaped.
    assert bend.edge is not None
    return first.edges[bend.edge]


def _described_line(bend: PlannedBend, plan: PlannedPanel) -> Line:
    """The tangent line on a belt or arms panel: the described line, set back into the panel's own side."""
    assert bend.line is not None and isinstance(plan.table.outline, BeltOutline | ArmsOutline)
    a, b = Point(*bend.line[0]), Point(*bend.line[1])
    metal = [p.centre for p in plan.pads] + [Point(*p.at) for p in plan.table.outline.pads]
    # Above 0: most of the panel lies on the left of the line from a to b.
    side = b.minus(a).unit().cross(Point(math.fsum(p.x - a.x for p in metal), math.fsum(p.y - a.y for p in metal)))
    if abs(side) < _SAME_CORNER_MM:
        cure = "add holes or pads on the side where the panel lies"
        what = "nothing says on which side of the bend line the panel lies"
        raise PlacedFault((*bend.path, "line"), what, cure)
    if side > 0:
        a, b = b, a
    back = b.minus(a).unit().left().scaled(-bend.parent_setback_mm)
    return Line(a.plus(back), b.plus(back))


def _taken(bend: PlacedBend, edge: Line) -> Line:
    """The stretch of the described edge that the bend takes: the corners at its ends stay plain."""
    if all(bend.flush):
        return edge
    frame, span = bend.parent.frame, bend.on_edge
    return Line(frame.point(Point(span.start, 0.0)), frame.point(Point(span.end, 0.0)))


# -- trimming to the tangent line


def _trimming_box(side: BendSide, span: Span, spread_mm: tuple[float, float]) -> Contour | None:
    """What is cut off between the described edge and the tangent line; None where they are the same.

    It reaches over the ends of the edge as far as the panel spreads there.
    """
    if side.setback_mm <= _ON_LINE_MM:
        return None
    return side.box(span.shrunk(-spread_mm[0], -spread_mm[1]), 0.0, side.setback_mm + _OVER_MM)


def _flares(side: BendSide, outline: Contour, span: Span) -> tuple[float, float]:
    """How far the panel spreads at both ends of an edge."""
    return _flare(side, outline, span.start, -1), _flare(side, outline, span.end, 1)


def _flare(side: BendSide, outline: Contour, u: float, outward: int) -> float:
    """How far beyond the end of the edge the panel spreads before the tangent line is reached."""
    widest = 0.0
    for share in (0.25, 0.5, 0.75, 0.999):
        low, high = 0.0, _WIDEST_SPREAD * side.setback_mm
        depth = side.setback_mm * (1 - share)
        if not holds(outline, side.point(u + outward * 1e-4, depth)):
            continue
        while high - low > 0.01:
            middle = (low + high) / 2
            inside = holds(outline, side.point(u + outward * middle, depth))
            low, high = (middle, high) if inside else (low, middle)
        widest = max(widest, high)
    return widest + 0.05


def _trimmed(outline: Contour, boxes: Sequence[Contour], sides: Sequence[BendSide], what: str) -> Contour:
    """The outline less the boxes; holes that open by it are refused."""
    if not boxes:
        return outline
    left = combine([outline], boxes, drop_slivers=True)
    if not left:
        raise GeometryFault(f"{what} is too small for its bends: nothing is left", None, _TRIMMED)
    body = _hanging(left, sides, 0.0, (), what)
    if body.inner:
        raise GeometryFault(f"{what}: a bend or notch cuts a hole into it", body.inner[0].edges[0].start)
    return body.outer


def _hanging(
    regions: Sequence[Region], sides: Sequence[BendSide], depth_mm: float, bent: Sequence[Point], what: str
) -> Region:
    """The panel without the corners that a bend or its relief cuts off: scrap between described edge and relief's end.

    Raises GeometryFault when anything else falls off, such as a piece with one of the points that are `bent`.
    """
    panel = max(regions, key=lambda r: r.area, default=None)

    def scrap(region: Region) -> bool:
        return any(_beside(region, s, depth_mm) for s in sides) and not any(holds(region.outer, p) for p in bent)

    return one_body([r for r in regions if r is panel or not scrap(r)], what)


def _beside(region: Region, side: BendSide, depth_mm: float) -> bool:
    """Whether a piece lies between the described edge and `depth_mm` inside the tangent line."""
    _, y0, _, y1 = region.outer.moved(side.frame.inverse()).bounds()
    past = sorted((y - side.tangent_y) * side.away for y in (y0, y1))
    return past[0] >= -depth_mm - _ON_LINE_MM and past[1] <= side.setback_mm + _ON_LINE_MM


def _reach(side: BendSide, span: Span) -> Span:
    """Where to look for the tangent edge: a panel may spread towards it by as much as it is set back."""
    room = _WIDEST_SPREAD * side.setback_mm + 0.1
    return span.shrunk(-room, -room)


def tangent_span(side: BendSide, outline: Contour, wanted: Span) -> Span:
    """The stretch of the tangent line that is the panel's edge, inside `wanted`.

    Raises GeometryFault when there is none, or when it is interrupted.
    """
    back = side.frame.inverse()
    found: list[Span] = []
    for edge in outline.edges:
        a, b = back.point(edge.start), back.point(edge.end)
        on_line = abs(a.y - side.tangent_y) < _ON_LINE_MM and abs(b.y - side.tangent_y) < _ON_LINE_MM
        if isinstance(edge, Line) and on_line:
            span = Span(min(a.x, b.x), max(a.x, b.x)).both(wanted)
            if span.length > _ON_LINE_MM:
                found.append(span)
    middle = side.point((wanted.start + wanted.end) / 2, 0.0)
    if not found:
        raise GeometryFault(
            f"the panel has no straight edge on the tangent line of {side.bend}",
            middle,
            f"the tangent line lies {side.setback_mm:.2f} mm inside the described edge",
        )
    if len(found) > 1:
        raise GeometryFault(f"a cut-out or notch interrupts {side.bend}", middle, "make two panels, or move the notch")
    return found[0]


# -- cuts beside a bend's end


def usual_relief(bend: PlannedBend, stock: Stock) -> tuple[float, float]:
    """Width of the relief along the bend and its depth beyond the tangent line, mm: as told, or as is usual.

    Width: the FAA's relief hole, 1/8 in up to 0.064 in sheet, 3/16 in up to 0.128 in (FAA-H-8083-31 ch. 4);
    thicker sheet at least its thickness (common practice, no source); never under what the process can cut.
    Depth: 1/16 in beyond the tangent line, the upper end of the FAA's 1/32 to 1/16 in.
    """
    told, t = bend.relief, stock.thickness_mm
    faa = 3.175 if t <= 0.064 * INCH_MM else 4.7625
    usual = math.ceil(max(faa, t, stock.process.minimum_slot_mm(t)) * 10) / 10
    width = told.width if told.width is not None else usual
    if told.depth is not None:
        return width, told.depth
    return width, INCH_MM / 16 + (width / 2 if told.shape == "round" else 0.0)


def _relief_cut(
    side: BendSide, outline: Contour, u: float, outward: int, sizes_mm: tuple[float, float], round_end: bool
) -> Contour:
    """Slot beside the end of the bend, from `depth` inside the panel out through the metal beside the bend."""
    width, depth = sizes_mm
    span = Span(u, u + width) if outward > 0 else Span(u - width, u)
    out = _metal_beside(side, outline, u, outward) + _OVER_MM
    if not round_end:
        return side.box(span, -depth, out)
    r = span.length / 2
    bottom = max(depth - width / 2, 0.0)
    middle = (span.start + span.end) / 2
    a, b = side.point(span.start, -bottom), side.point(span.end, -bottom)
    c, d = side.point(span.end, out), side.point(span.start, out)
    centre, tip = side.point(middle, -bottom), side.point(middle, -bottom - r)
    turning = float(side.away)
    arcs = (Arc.make(a, tip, centre, r, turning), Arc.make(tip, b, centre, r, turning))
    return Contour((*arcs, Line(b, c), Line(c, d), Line(d, a))).anticlockwise()


def _cuts_into(slot: Contour, line: Line) -> bool:
    """Whether a relief takes metal off a bend's tangent line."""
    return holds(slot, line.middle) or any(meeting_points(line, cut) for cut in slot.edges)


def _horn_mm(side: BendSide, outline: Contour, u: float, outward: int, slot: Contour, stock: Stock) -> float:
    """How far a horn reaches from the bend's end that a relief leaves on a neck too thin to be cut; 0 without one."""
    least = stock.process.minimum_web_mm(stock.thickness_mm)
    back, top = side.frame.inverse(), _metal_beside(side, outline, u, outward)
    depth = max((side.tangent_y - back.point(p).y) * side.away for p in slot.vertices())
    width = max(abs(back.point(p).x - u) for p in slot.vertices())
    foot, middle, *tip = (_reach_along(side, outline, u, outward, y) for y in (-depth, 0.0, top / 2, top * 0.99))
    apart = [e for e in outline.edges if not any(meeting_points(e, cut) for cut in slot.edges)]
    if max(tip) - width < least or any(piece_gap(e, cut).mm < least for e in apart for cut in slot.edges):
        return max(foot, middle, *tip)
    return 0.0


def _reach_along(side: BendSide, outline: Contour, u: float, outward: int, level: float) -> float:
    """How far the metal goes on along the bend from its end, `level` past the tangent line, to its last edge near."""
    back, y = side.frame.inverse(), side.tangent_y + (level - _ON_LINE_MM) * side.away
    found = []
    for edge in outline.edges:
        a, b = back.point(edge.start), back.point(edge.end)
        if (a.y - y) * (b.y - y) < 0:
            found.append((a.x + (y - a.y) / (b.y - a.y) * (b.x - a.x) - u) * outward)
    return min((x for x in found if x > _FLUSH_MM), default=0.0)


def _metal_beside(side: BendSide, outline: Contour, u: float, outward: int) -> float:
    """How far the panel's metal reaches past the tangent line beside the bend, without a break."""
    x = u + outward * _FLUSH_MM
    if not holds(outline, side.point(x, 0.01)):
        return 0.0
    back = side.frame.inverse()
    ys = []
    for edge in outline.edges:
        a, b = back.point(edge.start), back.point(edge.end)
        if (a.x - x) * (b.x - x) < 0:
            share = (x - a.x) / (b.x - a.x)
            ys.append(((a.y + share * (b.y - a.y)) - side.tangent_y) * side.away)
    return min((y for y in ys if y > 0), default=0.0)
