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
from bracketgen.description.making.outline import FirstOutline, Surroundings, first_outline, treated
from bracketgen.description.making.tree import PlannedBend, PlannedPanel, Span, own_foot, own_left
from bracketgen.description.model.panels import ArmsOutline, BeltOutline
from bracketgen.errors import GeometryFault
from bracketgen.geometry.combine import combine, one_body
from bracketgen.geometry.contour import Circle, Contour, box_contour, disc_contour, holds
from bracketgen.geometry.edge import Arc, Line
from bracketgen.geometry.plane import Placement, Point
from bracketgen.part.part import Stock
from bracketgen.tolerances import SHORTEST_EDGE_MM
from bracketgen.units import INCH_MM

_SAME_CORNER_MM = 1e-3
_ON_LINE_MM = 1e-6
#: How far a cut reaches over the described edge or out of the metal; nothing of the panel lies there.
_OVER_MM = 1.0
_MOST_ROUNDS = 5
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
    `auto` what the parent leaves it, `span` what it ends up with.
    """

    plan: PlannedBend
    length_mm: float
    zero_u: float
    parent: BendSide
    child: BendSide
    own: Span | None
    described: Span | None
    auto: Span = _NOTHING
    on_parent: Span = _NOTHING
    on_child: Span = _NOTHING
    span: Span = _NOTHING

    @property
    def takes_whole_edge(self) -> bool:
        """By the child's foot as described: what a slanted side takes off it up to the tangent line is no metal."""
        foot = self.described
        return foot is None or (foot.start <= 0.01 and foot.end >= self.length_mm - 0.01)

    @property
    def on_edge(self) -> Span:
        """The stretch of the parent's edge that is cut back to the tangent line."""
        return Span(0.0, self.length_mm) if self.own is None or self.takes_whole_edge else self.own


@dataclass(slots=True)
class Shape:
    """A panel being shaped."""

    plan: PlannedPanel
    first: FirstOutline
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
        boxes = [_trimming_box(b.parent, chain, b.on_edge, b.takes_whole_edge) for b in children]
        if foot:
            # The stretch of u over which the panel's own foot runs, as described.
            xs = [p.x for e in own_edges for p in (e.start, e.end)]
            on_foot = Span(min(xs) + foot.zero_u, max(xs) + foot.zero_u) if xs else foot.own or foot.auto
            boxes.append(_trimming_box(foot.child, chain, on_foot, whole_edge=True))
            top = chain.bounds()[3]
            if top < foot.child.setback_mm + SHORTEST_EDGE_MM:
                what = f"panel '{plan.id}' is {top:g} mm high and ends within its bend"
                cure = f"the bend's tangent line lies at {foot.child.setback_mm:.2f} mm; make the panel higher"
                raise PlacedFault((*path, "height"), what, cure)
        with placed(path):
            body = _trimmed(chain, [b for b in boxes if b is not None], f"panel '{plan.id}'")
        for b in children:
            with placed(b.plan.path):
                b.on_parent = tangent_span(b.parent, body, _reach(b.parent, b.on_edge))
            if b.own and not b.takes_whole_edge:
                b.on_parent = b.on_parent.both(b.own)
            b.auto = b.on_parent.shrunk(*self._less(b.plan.id, True))
        if foot:
            with placed(foot.plan.path):
                foot.on_child = tangent_span(foot.child, body, _reach(foot.child, on_foot))
        sides = [b.parent for b in children] + ([foot.child] if foot else [])
        self.shapes[plan.id] = Shape(plan, first, body, sides)

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
            bend.span = reaches[key].shrunk(*map(max, self._less(key, True), self._less(key, False)))
            if bend.span.length < self.stock.thickness_mm:
                what = f"{key} has no room: it would be {max(0.0, bend.span.length):.2f} mm wide"
                raise PlacedFault(bend.plan.path, what, "give it more of the edge, or smaller reliefs")
        return self._shortened == before

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
        slots: list[Contour] = []
        for side in shape.sides:
            bend = self.bends[side.bend]
            for u, outward in ((bend.span.start, -1), (bend.span.end, 1)):
                # Metal goes on beside the end of the bend, along the tangent line or past it.
                if any(holds(body, side.point(u + outward * 0.05, beyond)) for beyond in (-0.01, 0.01)):
                    round_end = bend.plan.relief.shape == "round"
                    slots.append(_relief_cut(side, body, u, outward, usual_relief(bend.plan, self.stock), round_end))
        return one_body(combine([body], slots), f"panel '{shape.plan.id}' with reliefs").outer if slots else body


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
    if bend.own is None or bend.takes_whole_edge:
        return edge
    frame = bend.parent.frame
    return Line(frame.point(Point(bend.own.start, 0.0)), frame.point(Point(bend.own.end, 0.0)))


# -- trimming to the tangent line


def _trimming_box(side: BendSide, outline: Contour, span: Span, whole_edge: bool) -> Contour | None:
    """What is cut off between the described edge and the tangent line; None where they are the same."""
    if side.setback_mm <= _ON_LINE_MM:
        return None
    if whole_edge:
        span = Span(span.start - _flare(side, outline, span.start, -1), span.end + _flare(side, outline, span.end, 1))
    return side.box(span, 0.0, side.setback_mm + _OVER_MM)


def _flare(side: BendSide, outline: Contour, u: float, outward: int) -> float:
    """How far beyond the end of the edge the panel spreads before the tangent line is reached."""
    widest = 0.0
    for share in (0.25, 0.5, 0.75, 0.999):
        low, high = 0.0, 4 * side.setback_mm
        depth = side.setback_mm * (1 - share)
        if not holds(outline, side.point(u + outward * 1e-4, depth)):
            continue
        while high - low > 0.01:
            middle = (low + high) / 2
            inside = holds(outline, side.point(u + outward * middle, depth))
            low, high = (middle, high) if inside else (low, middle)
        widest = max(widest, high)
    return widest + 0.05


def _trimmed(outline: Contour, boxes: Sequence[Contour], what: str) -> Contour:
    """The outline less the boxes; holes that open by it are refused."""
    if not boxes:
        return outline
    left = combine([outline], boxes)
    if not left:
        raise GeometryFault(f"{what} is too small for its bends: nothing is left", None, _TRIMMED)
    body = one_body(left, what)
    if body.inner:
        raise GeometryFault(f"{what}: a bend or notch cuts a hole into it", body.inner[0].edges[0].start)
    return body.outer


def _reach(side: BendSide, span: Span) -> Span:
    """Where to look for the tangent edge: a panel may spread towards it by as much as it is set back."""
    room = 4 * side.setback_mm + 0.1
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


def _metal_beside(side: BendSide, outline: Contour, u: float, outward: int) -> float:
    """How far the panel's metal reaches past the tangent line beside the bend, without a break."""
    x = u + outward * 0.05
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
