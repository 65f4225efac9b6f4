"""A bend's place on one of its two panels, and how that panel is trimmed there.

Along the bend, `u` counts from the left end of the parent's edge, with the child on the left of the line. In a
seat's own frame x is u and y points to the child; the parent's metal lies below its line, the child's above.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from enum import Enum

from bracketgen.description.making.faults import PlacedFault, placed
from bracketgen.description.making.outline import FirstOutline, Surroundings, first_outline, treated
from bracketgen.description.making.tree import Joint, Plan, Span, ZeroX, own_foot, own_left
from bracketgen.description.model.panels import ArmsOutline, BeltOutline
from bracketgen.errors import GeometryFault
from bracketgen.geometry.combine import combine, one_body
from bracketgen.geometry.contour import Circle, Contour, box_contour, disc_contour, holds
from bracketgen.geometry.edge import Arc, Line
from bracketgen.geometry.plane import Placement, Point
from bracketgen.part.part import Stock
from bracketgen.tolerances import SHORTEST_EDGE_MM

#: How far the trimming box reaches over the described edge; nothing of the panel lies there.
_OVER_MM = 1.0
_ON_LINE_MM = 1e-6


class Side(Enum):
    """Which of the two panels; the value is the sign of y on which the panel's own metal does NOT lie."""

    PARENT = 1
    CHILD = -1


class Cover(Enum):
    """Whether the bend takes the whole described edge, or only a part of it."""

    WHOLE = "whole edge"
    PART = "part of the edge"


@dataclass(frozen=True, slots=True)
class Seat:
    """One side of a bend: the described edge in the panel's frame, and how far back the tangent line lies."""

    bend: str
    side: Side
    line: Line
    setback_mm: float

    @property
    def frame(self) -> Placement:
        """x along u, y to the child."""
        return Placement.along(self.line.start, self.line.end)

    @property
    def tangent_y(self) -> float:
        """Where the tangent line lies in the seat's frame."""
        return -self.setback_mm * self.side.value

    def point(self, u: float, beyond_mm: float) -> Point:
        """A point at u, `beyond_mm` past the tangent line as seen from the panel's metal (negative: in the metal)."""
        return self.frame.point(Point(u, self.tangent_y + beyond_mm * self.side.value))

    def box(self, span: Span, low_mm: float, high_mm: float) -> Contour:
        """A box over a span of u, from `low` to `high` past the tangent line."""
        ys = sorted((self.tangent_y + low_mm * self.side.value, self.tangent_y + high_mm * self.side.value))
        return box_contour(span.start, ys[0], span.end, ys[1]).moved(self.frame)

    def tangent(self, span: Span) -> Line:
        """The stretch of the tangent line in the panel's frame."""
        return Line(self.point(span.start, 0.0), self.point(span.end, 0.0))


def trimming_box(seat: Seat, outline: Contour, span: Span, cover: Cover) -> Contour | None:
    """What is cut off between the described edge and the tangent line; None where they are the same."""
    if seat.setback_mm <= _ON_LINE_MM:
        return None
    if cover is Cover.WHOLE:
        span = Span(span.start - _flare(seat, outline, span.start, -1), span.end + _flare(seat, outline, span.end, 1))
    return seat.box(span, 0.0, seat.setback_mm + _OVER_MM)


def _flare(seat: Seat, outline: Contour, u: float, outward: int) -> float:
    """How far beyond the end of the edge the panel spreads before the tangent line is reached."""
    widest = 0.0
    for share in (0.25, 0.5, 0.75, 0.999):
        low, high = 0.0, 4 * seat.setback_mm
        depth = seat.setback_mm * (1 - share)
        if not holds(outline, seat.point(u + outward * 1e-4, depth)):
            continue
        while high - low > 0.01:
            middle = (low + high) / 2
            inside = holds(outline, seat.point(u + outward * middle, depth))
            low, high = (middle, high) if inside else (low, middle)
        widest = max(widest, high)
    return widest + 0.05


_TRIMMED = "a panel goes on beyond the tangent lines of its bends, which lie inside the described edges"


def trim(outline: Contour, boxes: Sequence[Contour], what: str) -> Contour:
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


def tangent_span(seat: Seat, outline: Contour, wanted: Span) -> Span:
    """The stretch of the tangent line that is the panel's edge, inside `wanted`.

    Raises GeometryFault when there is none, or when it is interrupted.
    """
    back = seat.frame.inverse()
    found: list[Span] = []
    for edge in outline.edges:
        a, b = back.point(edge.start), back.point(edge.end)
        on_line = abs(a.y - seat.tangent_y) < _ON_LINE_MM and abs(b.y - seat.tangent_y) < _ON_LINE_MM
        if isinstance(edge, Line) and on_line:
            span = Span(min(a.x, b.x), max(a.x, b.x)).both(wanted)
            if span.length > _ON_LINE_MM:
                found.append(span)
    middle = seat.point((wanted.start + wanted.end) / 2, 0.0)
    if not found:
        raise GeometryFault(
            f"the panel has no straight edge on the tangent line of {seat.bend}",
            middle,
            f"the tangent line lies {seat.setback_mm:.2f} mm inside the described edge",
        )
    if len(found) > 1:
        raise GeometryFault(f"a cut-out or notch interrupts {seat.bend}", middle, "make two panels, or move the notch")
    return found[0]


class ReliefEnd(Enum):
    """How the cut ends inside the panel."""

    ROUND = "round"
    SQUARE = "square"


@dataclass(frozen=True, slots=True)
class Relief:
    """The cut beside a bend's end: its width along the bend, its depth beyond the tangent line, how it ends."""

    end: ReliefEnd
    width_mm: float
    depth_mm: float


def needs_relief(seat: Seat, outline: Contour, u: float, outward: int) -> bool:
    """Whether the panel's metal goes on beside the end of the strip, along the tangent line or past it."""
    beside = u + outward * 0.05
    return any(holds(outline, seat.point(beside, beyond)) for beyond in (-0.01, 0.01))


def relief_cut(seat: Seat, outline: Contour, u: float, outward: int, relief: Relief) -> list[Contour]:
    """Slot beside the end of the strip, from `depth` inside the panel out through the metal beside the strip."""
    span = Span(u, u + relief.width_mm) if outward > 0 else Span(u - relief.width_mm, u)
    out = _metal_beside(seat, outline, u, outward) + _OVER_MM
    if relief.end is ReliefEnd.SQUARE:
        return [seat.box(span, -relief.depth_mm, out)]
    r = relief.width_mm / 2
    bottom = max(relief.depth_mm - r, 0.0)
    return [_round_ended(seat, span, bottom, out)]


def _round_ended(seat: Seat, span: Span, bottom: float, out: float) -> Contour:
    """A slot open at the top with a half round at the bottom, anticlockwise."""
    r = span.length / 2
    middle = (span.start + span.end) / 2
    a, b = seat.point(span.start, -bottom), seat.point(span.end, -bottom)
    c, d = seat.point(span.end, out), seat.point(span.start, out)
    centre, tip = seat.point(middle, -bottom), seat.point(middle, -bottom - r)
    turning = float(seat.side.value)
    arcs = (Arc.make(a, tip, centre, r, turning), Arc.make(tip, b, centre, r, turning))
    return Contour((*arcs, Line(b, c), Line(c, d), Line(d, a))).anticlockwise()


def _metal_beside(seat: Seat, outline: Contour, u: float, outward: int) -> float:
    """How far the panel's metal reaches past the tangent line beside the strip, without a break."""
    x = u + outward * 0.05
    if not holds(outline, seat.point(x, 0.01)):
        return 0.0
    back = seat.frame.inverse()
    ys = []
    for edge in outline.edges:
        a, b = back.point(edge.start), back.point(edge.end)
        if (a.x - x) * (b.x - x) < 0:
            share = (x - a.x) / (b.x - a.x)
            ys.append(((a.y + share * (b.y - a.y)) - seat.tangent_y) * seat.side.value)
    ahead = [y for y in ys if y > 0]
    return min(ahead) if ahead else 0.0


def usual_relief(
    thickness_mm: float, least_slot_mm: float, end: ReliefEnd, width: float | None, depth: float | None
) -> Relief:
    """The relief where the description gives no sizes of its own.

    Width: the FAA's relief hole, 1/8 in up to 0.064 in sheet, 3/16 in up to 0.128 in (FAA-H-8083-31 ch. 4);
    thicker sheet at least its thickness (common practice, no source); never under what the process can cut.
    Depth: 1/16 in beyond the tangent line, the upper end of the FAA's 1/32 to 1/16 in.
    """
    faa = 3.175 if thickness_mm <= 0.064 * 25.4 else 4.7625
    usual = math.ceil(max(faa, thickness_mm, least_slot_mm) * 10) / 10
    own_width = width if width is not None else usual
    own_depth = depth if depth is not None else 25.4 / 16
    if end is ReliefEnd.ROUND and depth is None:
        own_depth += own_width / 2
    return Relief(end, own_width, own_depth)


# Every panel of the tree trimmed to the tangent lines of its bends, with reliefs where they are needed.
#
# Parents come first: a child that names no width is as wide as its bend. Where two bends of one panel end in the
# same corner, both are made shorter and a round is cut out of the corner, which can narrow a child; the tree is then
# shaped again, until nothing changes.


_SAME_CORNER_MM = 1e-3
_MOST_ROUNDS = 5


@dataclass(slots=True)
class Strip:
    """A bend being settled: its seats on both panels, x = 0 of the child in u, and the span it ends up with."""

    joint: Joint
    length_mm: float
    zero_u: float
    parent: Seat
    child: Seat
    explicit: Span | None
    described: Span | None
    auto: Span = field(default_factory=lambda: Span(0.0, 0.0))
    on_parent: Span = field(default_factory=lambda: Span(0.0, 0.0))
    on_child: Span = field(default_factory=lambda: Span(0.0, 0.0))
    span: Span = field(default_factory=lambda: Span(0.0, 0.0))


@dataclass(slots=True)
class Shape:
    """A panel being shaped."""

    plan: Plan
    first: FirstOutline
    body: Contour
    seats: list[Seat]


@dataclass(slots=True)
class _Shortened:
    """How much a bend gives up at its two ends: for a corner on its parent, and for one on its child."""

    parent: tuple[float, float] = (0.0, 0.0)
    child: tuple[float, float] = (0.0, 0.0)


class Shaping:
    """The shapes of all panels and the spans of all bends."""

    def __init__(self, plans: Sequence[Plan], stock: Stock) -> None:
        self.plans = plans
        self.stock = stock
        self.shapes: dict[str, Shape] = {}
        self.strips: dict[str, Strip] = {}
        self.corners: dict[str, list[Circle]] = {}
        self._shortened: dict[str, _Shortened] = {}

    def shape(self, plan: Plan) -> None:
        """Trims one panel whose parent is shaped already. Raises GeometryFault."""
        foot = self.strips[plan.foot.id] if plan.foot else None
        first = self._first(plan, foot)
        children = [self._strip(joint, plan, first) for joint in plan.children]
        seats = [s.parent for s in children] + ([foot.child] if foot else [])
        chain = treated(first, _bent_edges(first, children, foot))
        boxes = [trimming_box(s.parent, chain, _on_edge(s), _cover(s)) for s in children]
        foot_range = _foot_range(first, foot) if foot else None
        if foot and foot_range:
            boxes.append(trimming_box(foot.child, chain, foot_range, Cover.WHOLE))
        self._check_height(plan, chain, foot)
        with placed((*plan.path, "outline")):
            body = trim(chain, [b for b in boxes if b is not None], f"panel '{plan.id}'")
        for s in children:
            with placed(s.joint.path):
                s.on_parent = tangent_span(s.parent, body, _reach(s.parent, _on_edge(s)))
            if s.explicit and _cover(s) is Cover.PART:
                s.on_parent = s.on_parent.both(s.explicit)
            s.auto = s.on_parent.shrunk(*self._shortened.get(s.joint.id, _Shortened()).parent)
        if foot and foot_range:
            with placed(foot.joint.path):
                foot.on_child = tangent_span(foot.child, body, _reach(foot.child, foot_range))
        self.shapes[plan.id] = Shape(plan, first, body, seats)

    def _first(self, plan: Plan, foot: Strip | None) -> FirstOutline:
        path = (*plan.path, "outline")
        with placed(path):
            return first_outline(plan.table.outline, path, self._around(plan, foot), *_left_width(plan, foot))

    def _check_height(self, plan: Plan, chain: Contour, foot: Strip | None) -> None:
        top = chain.bounds()[3]
        if foot and top < foot.child.setback_mm + SHORTEST_EDGE_MM:
            what = f"panel '{plan.id}' is {top:g} mm high and ends within its bend"
            cure = f"the bend's tangent line lies at {foot.child.setback_mm:.2f} mm; make the panel higher"
            raise PlacedFault((*plan.path, "outline", "height"), what, cure)

    def settle(self) -> bool:
        """Fixes every bend's span and the corners where two meet; True when nothing changed since last time."""
        self.corners = {p.id: [] for p in self.plans}
        fresh: dict[str, _Shortened] = {k: _Shortened() for k in self.strips}
        reaches = {k: self._reach(s) for k, s in self.strips.items()}
        for plan in self.plans:
            self._find_corners(plan, reaches, fresh)
        same = all(fresh[k] == self._shortened.get(k, _Shortened()) for k in fresh)
        self._shortened = fresh
        for key, strip in self.strips.items():
            less = fresh[key]
            strip.span = reaches[key].shrunk(*(max(a, b) for a, b in zip(less.parent, less.child, strict=True)))
            if strip.span.length < self.stock.thickness_mm:
                what = f"{key} has no room: it would be {max(0.0, strip.span.length):.2f} mm wide"
                raise PlacedFault(strip.joint.path, what, "give it more of the edge, or smaller reliefs")
        return same

    def run(self, shape_one: Callable[[Plan], None]) -> None:
        """Shapes the whole tree until corners no longer move anything."""
        for _ in range(_MOST_ROUNDS):
            for plan in self.plans:
                shape_one(plan)
            if self.settle():
                return
        raise GeometryFault("bends that meet in corners don't leave each other room")

    def relieved(self, shape: Shape) -> Contour:
        """The panel's outline with corner rounds and the slots beside its bends' ends."""
        cuts = [disc_contour(c.centre, c.radius) for c in self.corners[shape.plan.id]]
        body = one_body(combine([shape.body], cuts), f"panel '{shape.plan.id}'").outer if cuts else shape.body
        slots: list[Contour] = []
        for seat in shape.seats:
            strip = self.strips[seat.bend]
            relief = self.relief(strip.joint)
            for u, outward in ((strip.span.start, -1), (strip.span.end, 1)):
                if needs_relief(seat, body, u, outward):
                    slots += relief_cut(seat, body, u, outward, relief)
        return one_body(combine([body], slots), f"panel '{shape.plan.id}' with reliefs").outer if slots else body

    def relief(self, joint: Joint) -> Relief:
        """The relief of a bend."""
        table, t = joint.relief, self.stock.thickness_mm
        end = ReliefEnd(table.shape)
        return usual_relief(t, self.stock.process.minimum_slot_mm(t), end, table.width, table.depth)

    def _corner_radius(self, joint: Joint) -> float:
        """Half of the FAA's relief hole: about twice the inside radius in diameter (FAA-H-8083-31 ch. 4)."""
        return max(joint.inside_radius_mm, self.relief(joint).width_mm / 2)

    def _around(self, plan: Plan, foot: Strip | None) -> Surroundings:
        lines = [_described_line(j, plan) for j in plan.children if j.line is not None]
        outline, base = plan.table.outline, None
        if foot and isinstance(outline, BeltOutline | ArmsOutline):
            left, width = _left_width(plan, foot)
            y = foot.joint.child_setback_mm
            base = Line(Point(left, y), Point(left + (width or 0.0), y))
        return Surroundings(plan.pads, lines, base)

    def _strip(self, joint: Joint, plan: Plan, first: FirstOutline) -> Strip:
        if joint.line is not None:
            line, setback = _described_line(joint, plan), 0.0
        else:
            line, setback = _edge(first, joint).reversed(), joint.parent_setback_mm
        length = line.length
        child = next(p for p in self.plans if p.id == joint.child)
        zero = {"left": 0.0, "middle": length / 2, "right": length}[child.table.origin] + joint.shift_mm
        if joint.zero_x is ZeroX.PARENT:
            zero = -line.start.x
        low = joint.child_setback_mm if isinstance(child.table.outline, BeltOutline | ArmsOutline) else 0.0
        own = Line(Point(-zero, low), Point(length - zero, low))
        foot, on_edge = (own_foot(child.table, y) for y in (joint.child_setback_mm, 0.0))
        strip = Strip(
            joint,
            length,
            zero,
            Seat(joint.id, Side.PARENT, line, setback),
            Seat(joint.id, Side.CHILD, own, joint.child_setback_mm - low),
            foot and Span(foot.start + zero, foot.end + zero),
            on_edge and Span(on_edge.start + zero, on_edge.end + zero),
        )
        self.strips[joint.id] = strip
        return strip

    def _reach(self, strip: Strip) -> Span:
        """As far as both panels let the bend go, before corners shorten it."""
        less = self._shortened.get(strip.joint.id, _Shortened())
        child = strip.on_child if strip.explicit else strip.on_child.shrunk(-less.parent[0], -less.parent[1])
        return strip.on_parent.both(child)

    def _find_corners(self, plan: Plan, reaches: dict[str, Span], fresh: dict[str, _Shortened]) -> None:
        ends = []
        for seat in self.shapes[plan.id].seats:
            span = reaches[seat.bend]
            ends += [(seat, 0, seat.point(span.start, 0.0)), (seat, 1, seat.point(span.end, 0.0))]
        for i, (seat, which, p) in enumerate(ends):
            for other, other_which, q in ends[:i]:
                if other.bend == seat.bend or p.distance(q) > _SAME_CORNER_MM:
                    continue
                r = max(self._corner_radius(self.strips[s.bend].joint) for s in (seat, other))
                self.corners[plan.id].append(Circle(p, r))
                for s, end in ((seat, which), (other, other_which)):
                    _shorten(fresh[s.bend], s.side, end, r)


def _cover(strip: Strip) -> Cover:
    """By the child's foot as described: what a slanted side takes off it up to the tangent line is no metal left."""
    foot = strip.described
    whole = foot is None or (foot.start <= 0.01 and foot.end >= strip.length_mm - 0.01)
    return Cover.WHOLE if whole else Cover.PART


def _on_edge(strip: Strip) -> Span:
    """The stretch of the parent's edge that is cut back to the tangent line."""
    if strip.explicit is None or _cover(strip) is Cover.WHOLE:
        return Span(0.0, strip.length_mm)
    return strip.explicit


def _reach(seat: Seat, span: Span) -> Span:
    """Where to look for the tangent edge: a panel may spread towards it by as much as it is set back."""
    room = 4 * seat.setback_mm + 0.1
    return Span(span.start - room, span.end + room)


def _bent_edges(first: FirstOutline, children: Sequence[Strip], foot: Strip | None) -> list[Line]:
    """Where bends take the outline's edges: the corners at their ends stay plain."""
    edges = [_taken(s, _edge(first, s.joint)) for s in children if s.joint.edge is not None]
    if foot:
        edges += [e for e in first.edges.values() if abs(e.start.y) < 1e-6 and abs(e.end.y) < 1e-6]
    return edges


def _taken(strip: Strip, edge: Line) -> Line:
    """The stretch of the described edge that the bend takes."""
    if strip.explicit is None or _cover(strip) is Cover.WHOLE:
        return edge
    seat = strip.parent.frame
    return Line(seat.point(Point(strip.explicit.start, 0.0)), seat.point(Point(strip.explicit.end, 0.0)))


def _foot_range(first: FirstOutline, foot: Strip) -> Span:
    """The stretch of u over which the panel's own foot runs, as described."""
    xs = [p.x for e in first.edges.values() if abs(e.start.y) < 1e-6 and abs(e.end.y) < 1e-6 for p in (e.start, e.end)]
    if xs:
        return Span(min(xs) + foot.zero_u, max(xs) + foot.zero_u)
    return foot.explicit or foot.auto


def _shorten(less: _Shortened, side: Side, end: int, radius: float) -> None:
    pair = list(less.parent if side is Side.PARENT else less.child)
    pair[end] = max(pair[end], radius)
    if side is Side.PARENT:
        less.parent = (pair[0], pair[1])
    else:
        less.child = (pair[0], pair[1])


def _described_line(joint: Joint, plan: Plan) -> Line:
    """The tangent line on a belt or arms panel: the described line, set back into the panel's own side."""
    assert joint.line is not None and isinstance(plan.table.outline, BeltOutline | ArmsOutline)
    a, b = Point(*joint.line[0]), Point(*joint.line[1])
    metal = [p.centre for p in plan.pads] + [Point(*p.at) for p in plan.table.outline.pads]
    # Above 0: most of the panel lies on the left of the line from a to b.
    side = b.minus(a).unit().cross(Point(math.fsum(p.x - a.x for p in metal), math.fsum(p.y - a.y for p in metal)))
    if abs(side) < _SAME_CORNER_MM:
        cure = "add holes or pads on the side where the panel lies"
        what = "nothing says on which side of the bend line the panel lies"
        raise PlacedFault((*joint.path, "line"), what, cure)
    if side > 0:
        a, b = b, a
    back = b.minus(a).unit().left().scaled(-joint.parent_setback_mm)
    return Line(a.plus(back), b.plus(back))


def _edge(first: FirstOutline, joint: Joint) -> Line:
    # Whether the parent has that edge was seen to before any panel was shaped.
    assert joint.edge is not None
    return first.edges[joint.edge]


def _left_width(plan: Plan, foot: Strip | None) -> tuple[float, float | None]:
    """Left end and width of the panel in its own frame: its own, or the bend's."""
    outline = plan.table.outline
    width = getattr(outline, "width", None)
    if width is not None:
        return own_left(plan.table, width), float(width)
    if foot is None:
        return 0.0, None
    return foot.auto.start - foot.zero_u, foot.auto.length
