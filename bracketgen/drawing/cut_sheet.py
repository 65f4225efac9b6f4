"""What the cutting machine shall follow, as plain values: circles and chains of true lines and arcs.

Knows no file format. Millimetres, y up, seen on the described face, nominal size.

A chain is a row of points (x, y, bulge). The bulge belongs to the edge that leaves the point:
tan(a quarter of the arc's included angle), positive when the edge turns left (counter-clockwise),
0 for a straight edge; DXF Reference, LWPOLYLINE, group 42. Arcs stay under a half circle (|bulge| < 1).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from itertools import pairwise
from math import atan, fsum, hypot, isfinite, pi

from bracketgen.bending.flat import Flat
from bracketgen.errors import GeometryFault
from bracketgen.geometry.combine import tidy
from bracketgen.geometry.contour import Circle, Cut, union_bounds
from bracketgen.geometry.edge import Line
from bracketgen.part.mark import stamp
from bracketgen.shop.coupon import Coupon
from bracketgen.tolerances import SAME_POINT_MM

Vertex = tuple[float, float, float]
Bounds = tuple[float, float, float, float]

#: Decimals of a written length: a nanometre's millionth part of a metre, far under any machine's step.
LENGTH_DECIMALS = 9
#: Decimals of a written bulge: on a chord of 2 m the arc's height moves by less than 1e-12 m.
BULGE_DECIMALS = 12
#: Below this bulge the closed form of the arc's area loses digits, and its power series is used.
_FLAT_BULGE = 0.02


class Layer(StrEnum):
    """What the machine does along a line; the value is the layer's name in the file."""

    CUT = "CUT"
    MARK = "MARK"
    BEND = "BEND"


class Closure(StrEnum):
    """Whether the last point of a chain leads back to the first."""

    CLOSED = "closed"
    OPEN = "open"


@dataclass(frozen=True, slots=True)
class Round:
    """A full circle. Raises GeometryFault unless all values are finite and the radius is above 0."""

    x_mm: float
    y_mm: float
    radius_mm: float
    layer: Layer = Layer.CUT

    def __post_init__(self) -> None:
        _refuse_non_finite((self.x_mm, self.y_mm, self.radius_mm))
        if self.radius_mm <= 0.0:
            at = (self.x_mm, self.y_mm)
            raise GeometryFault(f"a circle of radius {self.radius_mm} mm can't be cut", at)

    @property
    def bounds_mm(self) -> Bounds:
        """Least x, least y, greatest x, greatest y, in mm."""
        r = self.radius_mm
        return self.x_mm - r, self.y_mm - r, self.x_mm + r, self.y_mm + r

    @property
    def area_mm2(self) -> float:
        """Area of the disc, in mm²."""
        return pi * self.radius_mm**2

    @property
    def length_mm(self) -> float:
        """Length around, in mm."""
        return 2.0 * pi * self.radius_mm


@dataclass(frozen=True, slots=True)
class Chain:
    """A chain of lines and arcs through `points` (x mm, y mm, bulge).

    Closed: the last point's bulge is that of the edge back to the first. Open: the last bulge is unused.
    Raises GeometryFault for fewer than two points, non-finite values or an arc of a half circle and more.
    """

    points: tuple[Vertex, ...]
    closed: Closure = Closure.CLOSED
    layer: Layer = Layer.CUT

    def __post_init__(self) -> None:
        if len(self.points) < 2:
            raise GeometryFault("a chain needs at least two points")
        for x, y, bulge in self.points:
            _refuse_non_finite((x, y, bulge))
            if abs(bulge) >= 1.0:
                raise GeometryFault("an arc of a half circle or more", (x, y), "split it into shorter arcs")

    def edges(self) -> Iterator[tuple[Vertex, Vertex]]:
        """Every edge as (point it leaves, point it reaches); the bulge of the first is the edge's own."""
        yield from pairwise(self.points)
        if self.closed is Closure.CLOSED:
            yield self.points[-1], self.points[0]

    @property
    def signed_area_mm2(self) -> float:
        """Area within, arcs included, in mm²; above 0 when the chain runs counter-clockwise, 0 when open."""
        if self.closed is Closure.OPEN:
            return 0.0
        x0, y0, _ = self.points[0]
        polygon = (0.5 * ((p[0] - x0) * (q[1] - y0) - (q[0] - x0) * (p[1] - y0)) for p, q in self.edges())
        bows = (_bow_area_mm2(p, q) for p, q in self.edges())
        return fsum(polygon) + fsum(bows)

    @property
    def area_mm2(self) -> float:
        """Area within, in mm², whichever way the chain runs."""
        return abs(self.signed_area_mm2)

    @property
    def length_mm(self) -> float:
        """Length along lines and arcs, in mm."""
        return fsum(_edge_length_mm(p, q) for p, q in self.edges())

    @property
    def bounds_mm(self) -> Bounds:
        """Least x, least y, greatest x, greatest y, in mm, with arcs that bulge past their ends."""
        xs = [p[0] for p in self.points]
        ys = [p[1] for p in self.points]
        for p, q in self.edges():
            for x, y in _arc_extremes(p, q):
                xs.append(x)
                ys.append(y)
        return min(xs), min(ys), max(xs), max(ys)


@dataclass(frozen=True, slots=True)
class CutSheet:
    """One part's cut file before any format: circles and chains. Order carries no meaning.

    `stamp` is what the file says of the part's state, in a comment.
    """

    name: str
    rounds: tuple[Round, ...] = ()
    chains: tuple[Chain, ...] = ()
    stamp: str = ""

    @property
    def items(self) -> tuple[Round | Chain, ...]:
        """Circles, then chains."""
        return (*self.rounds, *self.chains)

    def on(self, layer: Layer) -> CutSheet:
        """What lies on one layer only."""
        return CutSheet(
            self.name,
            tuple(r for r in self.rounds if r.layer is layer),
            tuple(c for c in self.chains if c.layer is layer),
        )

    @property
    def layers(self) -> tuple[Layer, ...]:
        """The layers in use, in the order cut, mark, bend."""
        used = {item.layer for item in self.items}
        return tuple(layer for layer in Layer if layer in used)

    @property
    def outline(self) -> Round | Chain:
        """The outer contour: the closed one of the greatest area on CUT. GeometryFault when there is none."""
        closed = [c for c in self.chains if c.layer is Layer.CUT and c.closed is Closure.CLOSED]
        contours: list[Round | Chain] = [*closed, *(r for r in self.rounds if r.layer is Layer.CUT)]
        if not contours:
            raise GeometryFault(f"{self.name}: nothing to cut")
        return max(contours, key=lambda contour: contour.area_mm2)

    @property
    def area_mm2(self) -> float:
        """Metal left: the outline's area less every other contour on CUT, in mm²."""
        cut = self.on(Layer.CUT)
        return 2.0 * cut.outline.area_mm2 - fsum(item.area_mm2 for item in cut.items)

    @property
    def cut_length_mm(self) -> float:
        """Length of everything on CUT, in mm."""
        cut = self.on(Layer.CUT)
        return fsum(item.length_mm for item in cut.items)

    @property
    def pierces(self) -> int:
        """How often the beam starts: once for each circle and chain on CUT."""
        cut = self.on(Layer.CUT)
        return len(cut.rounds) + len(cut.chains)

    @property
    def bounds_mm(self) -> Bounds:
        """Least x, least y, greatest x, greatest y of all layers, in mm. GeometryFault if empty."""
        boxes = [item.bounds_mm for item in self.items]
        if not boxes:
            raise GeometryFault(f"{self.name}: nothing drawn")
        return union_bounds(boxes)


@lru_cache(maxsize=4)
def canonical(sheet: CutSheet) -> CutSheet:
    """The one way of writing this sheet, whatever order, start points and directions it was given in.

    Numbers are rounded (lengths to 1e-9 mm, bulges to 1e-12) and -0.0 becomes 0.0. The outline runs
    counter-clockwise, inner contours clockwise, closed marks counter-clockwise; closed chains start at the
    smallest (x, y), open ones at the smaller end. Everything is sorted by layer, then start.
    """
    rank = {layer: number for number, layer in enumerate(Layer)}
    rounds = tuple(Round(_rounded(r.x_mm), _rounded(r.y_mm), _rounded(r.radius_mm), r.layer) for r in sheet.rounds)
    chains = tuple(map(_rounded_chain, sheet.chains))
    rounded = CutSheet(sheet.name, rounds, chains)
    has_outline = any(c.layer is Layer.CUT and c.closed is Closure.CLOSED for c in rounded.chains)
    outline = rounded.outline if has_outline else None
    directed = (_directed(chain, outline) for chain in chains)
    return CutSheet(
        sheet.name,
        tuple(sorted(rounds, key=lambda r: (rank[r.layer], r.x_mm, r.y_mm, r.radius_mm))),
        tuple(sorted(directed, key=lambda c: (rank[c.layer], c.points, c.closed))),
    )


def _directed(chain: Chain, outline: Round | Chain | None) -> Chain:
    """The chain turned its canonical way, from its canonical start."""
    ways = (chain.points, _reversed_points(chain.points, chain.closed))
    if chain.closed is Closure.OPEN:
        return Chain(min(ways), chain.closed, chain.layer)
    inner = chain.layer is Layer.CUT and chain is not outline
    area = -chain.signed_area_mm2 if inner else chain.signed_area_mm2
    if area == 0.0:
        return Chain(min(_from_smallest(way) for way in ways), chain.closed, chain.layer)
    return Chain(_from_smallest(ways[0] if area > 0.0 else ways[1]), chain.closed, chain.layer)


def _from_smallest(points: tuple[Vertex, ...]) -> tuple[Vertex, ...]:
    least = min(p[:2] for p in points)
    starts = [i for i, p in enumerate(points) if p[:2] == least]
    return min(points[i:] + points[:i] for i in starts)


def _reversed_points(points: tuple[Vertex, ...], closed: Closure) -> tuple[Vertex, ...]:
    """The same edges run backwards: each point takes the bulge of the edge that used to reach it, negated."""
    back = points[::-1]
    last = back[0][2] if closed is Closure.CLOSED else 0.0
    bulges = (*(p[2] for p in back[1:]), last)
    return tuple((p[0], p[1], 0.0 - bulge) for p, bulge in zip(back, bulges, strict=True))


def _rounded_chain(chain: Chain) -> Chain:
    points = [(_rounded(x), _rounded(y), _rounded(b, BULGE_DECIMALS)) for x, y, b in chain.points]
    if chain.closed is Closure.OPEN:
        points[-1] = (*points[-1][:2], 0.0)
    return Chain(tuple(points), chain.closed, chain.layer)


def _rounded(value: float, decimals: int = LENGTH_DECIMALS) -> float:
    # Adding 0.0 turns -0.0 into 0.0.
    return round(value, decimals) + 0.0


def _refuse_non_finite(values: Iterable[float]) -> None:
    if not all(map(isfinite, values)):
        raise GeometryFault("a number that is not finite")


def _edge_length_mm(p: Vertex, q: Vertex) -> float:
    chord, bulge = hypot(q[0] - p[0], q[1] - p[1]), p[2]
    return chord * (1.0 + bulge * bulge) * atan(bulge) / bulge if bulge else chord


def _bow_area_mm2(p: Vertex, q: Vertex) -> float:
    """Area between an arc and its chord, r²/2 (a - sin a) written in the bulge, and with its sign."""
    b = p[2]
    if b == 0.0:
        return 0.0
    chord2 = (q[0] - p[0]) ** 2 + (q[1] - p[1]) ** 2
    b2 = b * b
    if abs(b) < _FLAT_BULGE:
        return chord2 * b * (1.0 / 3.0 + b2 * (1.0 / 15.0 + b2 * (-1.0 / 105.0 + b2 / 315.0)))
    return chord2 * ((1.0 + b2) ** 2 * atan(b) - b * (1.0 - b2)) / (8.0 * b2)


def _arc_extremes(p: Vertex, q: Vertex) -> Iterator[tuple[float, float]]:
    """The points of an arc's circle farthest left, right, down and up that lie on the arc itself."""
    b = p[2]
    if b == 0.0:
        return
    dx, dy = q[0] - p[0], q[1] - p[1]
    lift = (1.0 - b * b) / (4.0 * b)
    cx, cy = 0.5 * (p[0] + q[0]) - lift * dy, 0.5 * (p[1] + q[1]) + lift * dx
    radius = hypot(dx, dy) * (1.0 + b * b) / (4.0 * abs(b))
    for ex, ey in ((radius, 0.0), (-radius, 0.0), (0.0, radius), (0.0, -radius)):
        x, y = cx + ex, cy + ey
        # Under a half circle, the arc is all of the circle on its own side of the chord.
        if (dx * (y - p[1]) - dy * (x - p[0])) * b < 0.0 and not _same_point(x, y, p, q):
            yield x, y


def _same_point(x: float, y: float, p: Vertex, q: Vertex) -> bool:
    """Whether an extreme is an end of the arc, where the end's own number is the exact one."""
    return any(hypot(x - end[0], y - end[1]) < SAME_POINT_MM for end in (p, q))


# -- the flat as the cutting machine sees it


class Extra(StrEnum):
    """What the cut file holds beyond the cuts, when the description asks for it."""

    MARKS = "marks"
    BENDS = "bends"


def items_of(cuts: Iterable[Cut]) -> tuple[list[Round], list[Chain]]:
    """Circles, which a machine cuts as such, and everything else as closed chains."""
    rounds: list[Round] = []
    chains: list[Chain] = []
    for cut in cuts:
        if isinstance(cut, Circle):
            rounds.append(Round(cut.centre.x, cut.centre.y, cut.radius))
        else:
            points = tuple((e.start.x, e.start.y, e.bulge) for e in tidy(cut).edges)
            chains.append(Chain(points, Closure.CLOSED, Layer.CUT))
    return rounds, chains


def cut_sheet(flat: Flat, extras: Iterable[Extra] = ()) -> CutSheet:
    """Outline and holes at nominal size; marks and bend centre lines only on request."""
    rounds, chains = items_of([flat.outline, *flat.cuts()])
    wanted = set(extras)
    if Extra.MARKS in wanted:
        for panel in flat.part.panels:
            chains += [_line(mark.moved(flat.placements[panel.id]), Layer.MARK) for mark in panel.marks]
    if Extra.BENDS in wanted:
        chains += [_line(strip.centre_line, Layer.BEND) for strip in flat.strips]
    return CutSheet(flat.part.name, tuple(rounds), tuple(chains), stamp(flat.part.mark))


def _line(line: Line, layer: Layer) -> Chain:
    (ax, ay), (bx, by) = line.start, line.end
    return Chain(((ax, ay, 0.0), (bx, by, 0.0)), Closure.OPEN, layer)


def coupon_sheet(strip: Coupon, name: str) -> CutSheet:
    """A border, long side level, whose upper right corner is cut off: so seen, the upper face lies up.

    Turned over, the cut corner stands at the upper left or the lower right. Nothing is cut where it is bent.
    """
    long, wide, off = strip.length_mm, strip.width_mm, strip.corner_mm
    points = ((0.0, 0.0), (long, 0.0), (long, wide - off), (long - off, wide), (0.0, wide))
    return CutSheet(name, (), (Chain(tuple((x, y, 0.0) for x, y in points)),))
