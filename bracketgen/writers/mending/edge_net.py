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
        self._only(indices)

    def _only(self, indices: list[int]) -> None:
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
        while self._close_up_once(limit_mm):
            pass

    def _close_up_once(self, limit_mm: float) -> bool:
        """The shortest first, and each only if its joints are still where they were; whether there was one."""
        edges = self.moved_edges()
        short = sorted((e.length_mm, i) for i, e in enumerate(edges) if e.length_mm < limit_mm)
        gone: set[int] = set()
        touched: set[int] = set()
        merges: list[tuple[int, int]] = []
        for _, i in short:
            if touched.isdisjoint(self.ends[i]):
                touched.update(self.ends[i])
                gone.add(i)
                merges.append(self.ends[i])
        self._only([i for i in range(len(self.edges)) if i not in gone])
        self._merge_all(merges, "line too short to cut left out, its neighbours joined")
        self._keep([k for k, (p, q) in enumerate(self.ends) if p != q], "line of no length dropped")
        return bool(gone)

    def _join(self, gap_mm: float) -> None:
        degree = Counter(joint for pair in self.ends for joint in pair)
        loose = [joint for joint, count in degree.items() if count == 1]
        pairs = near_ends([self.places[joint] for joint in loose], gap_mm)
        self._merge_all([(loose[i], loose[j]) for i, j, _ in pairs], "gap joined")

    def _merge_all(self, pairs: Sequence[tuple[int, int]], what: str) -> None:
        """Pairs of joints, no joint in two of them, become one each: where their edges would meet, or half way."""
        at: dict[int, list[Edge]] = {}
        for edge, ends in zip(self.edges, self.ends, strict=True):
            for joint in ends:
                at.setdefault(joint, []).append(edge)
        renamed: dict[int, int] = {}
        for a, b in pairs:
            p, q = self.places[a], self.places[b]
            self.places[a] = meeting = _meeting(p, q, at.get(a, []), at.get(b, []))
            renamed[b] = a
            self.deeds.append(Deed(what, 1, max(_apart(meeting, p), _apart(meeting, q))))
        self.ends = [(renamed.get(s, s), renamed.get(e, e)) for s, e in self.ends]


def _meeting(p: Point, q: Point, here: Sequence[Edge], there: Sequence[Edge]) -> Point:
    """Where two ends come together: where their own lines or circles cross near by, or else half way."""
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
