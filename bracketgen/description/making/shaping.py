"""Every panel of the tree trimmed to the tangent lines of its bends, with reliefs where they are needed.

Parents come first: a child that names no width is as wide as its bend. Where two bends of one panel end in the
same corner, both are made shorter and a round is cut out of the corner, which can narrow a child; the tree is then
shaped again, until nothing changes.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from bracketgen.description.making.outline import FirstOutline, Surroundings, first_outline, treated
from bracketgen.description.making.seat import (
    Cover,
    Relief,
    ReliefEnd,
    Seat,
    Side,
    Span,
    needs_relief,
    relief_cut,
    tangent_span,
    trim,
    trimming_box,
    usual_relief,
)
from bracketgen.description.making.tree import Joint, Plan
from bracketgen.description.model.panels import ArmsOutline, BeltOutline, DiscOutline, PolygonOutline
from bracketgen.errors import GeometryFault
from bracketgen.geometry.combine import combine, one_body
from bracketgen.geometry.contour import Circle, Contour
from bracketgen.geometry.line import Line
from bracketgen.geometry.point import Point
from bracketgen.geometry.shapes import disc_contour
from bracketgen.part.stock import Stock

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
        first = first_outline(plan.table.outline, self._around(plan, foot), *_left_width(plan, foot))
        children = [self._strip(joint, plan, first) for joint in plan.children]
        seats = [s.parent for s in children] + ([foot.child] if foot else [])
        chain = treated(first, _bent_edges(first, children, foot))
        boxes = [trimming_box(s.parent, chain, s.explicit or Span(0.0, s.length_mm), _cover(s)) for s in children]
        foot_range = _foot_range(first, foot) if foot else None
        if foot and foot_range:
            boxes.append(trimming_box(foot.child, chain, foot_range, Cover.WHOLE))
        body = trim(chain, [b for b in boxes if b is not None], f"panel '{plan.id}'")
        for s in children:
            s.on_parent = tangent_span(s.parent, body, _reach(s.parent, s.explicit or Span(0.0, s.length_mm)))
            if s.explicit and _cover(s) is Cover.PART:
                s.on_parent = s.on_parent.both(s.explicit)
            s.auto = s.on_parent.shrunk(*self._shortened.get(s.joint.id, _Shortened()).parent)
        if foot and foot_range:
            foot.on_child = tangent_span(foot.child, body, _reach(foot.child, foot_range))
        self.shapes[plan.id] = Shape(plan, first, body, seats)

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
                raise GeometryFault(f"{key} has no room: {max(0.0, strip.span.length):.2f} mm wide")
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
        low = joint.child_setback_mm if isinstance(child.table.outline, BeltOutline | ArmsOutline) else 0.0
        own = Line(Point(-zero, low), Point(length - zero, low))
        strip = Strip(
            joint,
            length,
            zero,
            Seat(joint.id, Side.PARENT, line, setback),
            Seat(joint.id, Side.CHILD, own, joint.child_setback_mm - low),
            _explicit(child, zero, joint.child_setback_mm),
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
    if strip.explicit is None:
        return Cover.WHOLE
    whole = strip.explicit.start <= 0.01 and strip.explicit.end >= strip.length_mm - 0.01
    return Cover.WHOLE if whole else Cover.PART


def _reach(seat: Seat, span: Span) -> Span:
    """Where to look for the tangent edge: a panel may spread towards it by as much as it is set back."""
    room = 4 * seat.setback_mm + 0.1
    return Span(span.start - room, span.end + room)


def _bent_edges(first: FirstOutline, children: Sequence[Strip], foot: Strip | None) -> list[Line]:
    edges = [_edge(first, s.joint) for s in children if s.joint.edge is not None]
    if foot:
        edges += [e for e in first.edges.values() if abs(e.start.y) < 1e-6 and abs(e.end.y) < 1e-6]
    return edges


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
    assert joint.line is not None
    a, b = Point(*joint.line[0]), Point(*joint.line[1])
    if a.distance(b) < 1e-6:
        raise GeometryFault("the two points of the bend line are one", a)
    if not isinstance(plan.table.outline, BeltOutline | ArmsOutline):
        raise GeometryFault("line is for belt and arms outlines", a, "give edge: left, right, top, bottom or a number")
    metal = [p.centre for p in plan.pads] + [Point(*p.at) for p in plan.table.outline.pads]
    if not metal:
        raise GeometryFault("no hole or pad says on which side of the line the panel lies", a)
    middle = Point(sum(p.x for p in metal) / len(metal), sum(p.y for p in metal) / len(metal))
    if b.minus(a).cross(middle.minus(a)) > 0:
        a, b = b, a
    back = b.minus(a).unit().left().scaled(-joint.parent_setback_mm)
    return Line(a.plus(back), b.plus(back))


def _edge(first: FirstOutline, joint: Joint) -> Line:
    assert joint.edge is not None
    if joint.edge in first.edges:
        return first.edges[joint.edge]
    if not first.edges:
        raise GeometryFault(f"the panel has no edge '{joint.edge}'", None, "belt and arms take line, a disc no bend")
    known = ", ".join(str(k) for k in first.edges)
    raise GeometryFault(f"the panel has no edge '{joint.edge}'", None, f"its edges: {known}")


def _explicit(child: Plan, zero: float, setback_mm: float) -> Span | None:
    """The stretch of u that the child's own table asks for, if it does."""
    outline = child.table.outline
    if isinstance(outline, PolygonOutline):
        on_foot = _foot_of_polygon(outline, setback_mm)
        return Span(on_foot.start + zero, on_foot.end + zero)
    if isinstance(outline, DiscOutline):
        raise GeometryFault("a disc has no straight edge to bend on", None, "use a belt, a polygon or a rectangle")
    if outline.width is None:
        return None
    left = _own_left(child, outline.width)
    return Span(left + zero, left + outline.width + zero)


def _own_left(plan: Plan, width: float) -> float:
    outline = plan.table.outline
    left = getattr(outline, "left", None)
    if left is not None:
        return float(left)
    return {"left": 0.0, "middle": -width / 2, "right": -width}[plan.table.origin]


def _foot_of_polygon(outline: PolygonOutline, setback_mm: float) -> Span:
    """The polygon's width where the child's tangent line crosses it, above its edge on y = 0."""
    corners = [c.at for c in outline.corners]
    edges = list(zip(corners, corners[1:] + corners[:1], strict=True))
    for i, (a, b) in enumerate(edges):
        if abs(a[1]) < 1e-6 and abs(b[1]) < 1e-6:
            before, after = edges[i - 1], edges[(i + 1) % len(edges)]
            xs = sorted((_x_at(before[1], before[0], setback_mm), _x_at(after[0], after[1], setback_mm)))
            return Span(xs[0], xs[1])
    raise GeometryFault("the polygon has no edge on y = 0", None, "a bent panel's foot is the edge with y = 0")


def _x_at(low: tuple[float, float], high: tuple[float, float], y: float) -> float:
    """x of the edge that rises from `low` (y = 0), at a height; an edge that ends below it is taken as upright."""
    if high[1] <= y or y <= 0:
        return low[0]
    return low[0] + (high[0] - low[0]) * y / high[1]


def _left_width(plan: Plan, foot: Strip | None) -> tuple[float, float | None]:
    """Left end and width of the panel in its own frame: its own, or the bend's."""
    outline = plan.table.outline
    width = getattr(outline, "width", None)
    if width is not None:
        return _own_left(plan, width), float(width)
    if foot is None:
        return 0.0, None
    return foot.auto.start - foot.zero_u, foot.auto.length
