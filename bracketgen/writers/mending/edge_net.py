"""All lines and arcs that are cut, as a net of joints: what lies twice is dropped, ends that miss are joined."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from math import atan2, hypot, pi, tan, tau

from bracketgen.tolerances import SHORTEST_EDGE_MM
from bracketgen.writers.inspecting.chain_checks import near_ends
from bracketgen.writers.mending.deed import Deed
from bracketgen.writers.readback.contacts import Overlap, carrier_points, overlap
from bracketgen.writers.readback.edges import Edge, Piece, Point, bulged
from bracketgen.writers.readback.joints import SAME_END_MM, joints, middles
from bracketgen.writers.readback.near_boxes import near_pairs

#: A moved end this near to its arc's circle leaves the circle as it is.
_ON_CIRCLE_MM = 1e-9


@dataclass(slots=True)
class EdgeNet:
    """Edges with their layers, the joint of each end, where each joint is, and what was done so far."""

    edges: list[Edge]
    layers: list[str]
    ends: list[tuple[int, int]] = field(default_factory=list)
    places: dict[int, Point] = field(default_factory=dict)
    circles: list[tuple[Edge, str]] = field(default_factory=list)
    deeds: list[Deed] = field(default_factory=list)

    @staticmethod
    def of(pieces: Sequence[Piece]) -> EdgeNet:
        """The net of pieces; ends that count as joined are one joint, circles stand aside."""
        net = EdgeNet([], [])
        for piece in pieces:
            for edge in piece.edges:
                if edge.is_circle:
                    net.circles.append((edge, piece.entity.layer))
                    continue
                for part in _short_arcs(edge):
                    net.edges.append(part)
                    net.layers.append(piece.entity.layer)
        points = [p for edge in net.edges for p in (edge.start, edge.end)]
        labels = joints(points)
        net.places = middles(points, labels)
        net.ends = list(zip(labels[0::2], labels[1::2], strict=True))
        net._keep([i for i, (a, b) in enumerate(net.ends) if a != b], "point or line of no length dropped")
        return net

    def mend(self, gap_mm: float) -> None:
        """Drop doubles, close short lines up, join gaps up to `gap_mm`."""
        self._drop_doubles()
        self._close_up(min(gap_mm, SHORTEST_EDGE_MM))
        self._join(gap_mm)
        # A line that was closed up, or joined to its own end, can leave a double behind.
        self._drop_doubles()

    def moved_edges(self) -> list[Edge]:
        """The edges between their joints as these are now."""
        moved = []
        for edge, (a, b) in zip(self.edges, self.ends, strict=True):
            moved.append(moved_ends(edge, self.places[a], self.places[b]))
        return moved

    def _keep(self, indices: list[int], what: str) -> None:
        dropped = len(self.edges) - len(indices)
        if dropped:
            self.deeds.append(Deed(what, dropped))
        self.edges = [self.edges[i] for i in indices]
        self.layers = [self.layers[i] for i in indices]
        self.ends = [self.ends[i] for i in indices]

    def _drop_doubles(self) -> None:
        """Edges between the same two joints that run the same way round, and circles that lie on each other."""
        seen: dict[tuple[int, int], list[Edge]] = {}
        kept = []
        for i, (edge, (a, b)) in enumerate(zip(self.moved_edges(), self.ends, strict=True)):
            others = seen.setdefault((min(a, b), max(a, b)), [])
            if not any(_apart(edge.middle, other.middle) <= SAME_END_MM for other in others):
                others.append(edge)
                kept.append(i)
        self._keep(kept, "line or arc that was there twice dropped")
        self._drop_double_circles()

    def _drop_double_circles(self) -> None:
        doubled = set()
        for i, j in near_pairs([edge.box for edge, _ in self.circles], 0.0):
            if overlap(self.circles[i][0], self.circles[j][0]) is Overlap.WHOLE:
                doubled.add(j)
        if doubled:
            self.deeds.append(Deed("circle that was there twice dropped", len(doubled)))
        self.circles = [c for i, c in enumerate(self.circles) if i not in doubled]

    def _close_up(self, limit_mm: float) -> None:
        """Each edge too short to cut is left out, and its neighbours meet instead of it."""
        while True:
            edges = self.moved_edges()
            short = [i for i, e in enumerate(edges) if e.length_mm < limit_mm]
            if not short:
                return
            i = min(short, key=lambda k: edges[k].length_mm)
            a, b = self.ends[i]
            kept = [k for k in range(len(self.edges)) if k != i]
            self.edges = [self.edges[k] for k in kept]
            self.layers = [self.layers[k] for k in kept]
            self.ends = [self.ends[k] for k in kept]
            self._merge(a, b, "line too short to cut left out, its neighbours joined")
            self._keep([k for k, (p, q) in enumerate(self.ends) if p != q], "line of no length dropped")

    def _join(self, gap_mm: float) -> None:
        degree = Counter(joint for pair in self.ends for joint in pair)
        loose = [joint for joint, count in degree.items() if count == 1]
        for i, j, _apart_mm in near_ends([self.places[joint] for joint in loose], gap_mm):
            self._merge(loose[i], loose[j], "gap joined")

    def _merge(self, a: int, b: int, what: str) -> None:
        """Two joints become one: where the two edges would meet by themselves, or else half way."""
        if a == b:
            return
        p, q = self.places[a], self.places[b]
        meeting = self._meeting(a, b)
        self.ends = [(a if s == b else s, a if e == b else e) for s, e in self.ends]
        self.places[a] = meeting
        self.deeds.append(Deed(what, 1, max(_apart(meeting, p), _apart(meeting, q))))

    def _meeting(self, a: int, b: int) -> Point:
        p, q = self.places[a], self.places[b]
        here = [e for e, pair in zip(self.edges, self.ends, strict=True) if a in pair]
        there = [e for e, pair in zip(self.edges, self.ends, strict=True) if b in pair]
        half = (0.5 * (p[0] + q[0]), 0.5 * (p[1] + q[1]))
        if len(here) != 1 or len(there) != 1:
            return half
        # An intersection farther off than the gap is wide belongs to lines that run nearly the same way.
        reach = _apart(p, q)
        found = [m for m in carrier_points(here[0], there[0]) if max(_apart(m, p), _apart(m, q)) <= reach]
        return min(found, key=lambda m: _apart(m, half), default=half)


def moved_ends(edge: Edge, start: Point, end: Point) -> Edge:
    """The edge between other ends close by: an arc keeps its circle where it can, else its included angle."""
    if edge.start == start and edge.end == end:
        return edge
    if edge.is_line:
        return Edge(start, end)
    (x, y), radius = edge.centre, edge.radius_mm
    if max(abs(hypot(p[0] - x, p[1] - y) - radius) for p in (start, end)) <= _ON_CIRCLE_MM:
        first, last = atan2(start[1] - y, start[0] - x), atan2(end[1] - y, end[0] - x)
        sweep = (last - first) % tau
        sweep = sweep if edge.sweep_rad > 0.0 else sweep - tau
        if abs(sweep - edge.sweep_rad) < 0.5:
            return replace(edge, start=start, end=end, start_rad=first, sweep_rad=sweep)
    return bulged(start, end, tan(0.25 * edge.sweep_rad))


def _short_arcs(edge: Edge) -> list[Edge]:
    """The edge, or its halves where it is near a half circle and more."""
    if edge.is_line or abs(edge.sweep_rad) <= 0.95 * pi:
        return [edge]
    return [part for half in edge.halves() for part in _short_arcs(half)]


def _apart(a: Point, b: Point) -> float:
    return hypot(a[0] - b[0], a[1] - b[1])
