"""All lines and arcs that are cut, as a net of joints: what lies twice is dropped, ends that miss are joined."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from math import atan2, dist, tan, tau
from typing import Final

from bracketgen.files.inspecting.arcs import short_arcs
from bracketgen.files.inspecting.outlines import SAME_END_MM, joints, middles, near_ends
from bracketgen.files.readback.contacts import EdgeOverlap, carrier_points, overlap
from bracketgen.files.readback.contours import near_pairs
from bracketgen.files.readback.edges import Edge, Piece, Point, bulged
from bracketgen.tolerances import SHORTEST_EDGE_MM

#: A moved end this near to its arc's circle leaves the circle as it is.
_ON_CIRCLE_MM: Final = 1e-9


@dataclass(frozen=True, slots=True)
class Repair:
    """One kind of mending: what was done or left, how often, and how far the line moved at most (mm)."""

    what: str
    count: int = 1
    deviation_mm: float = 0.0

    def __str__(self) -> str:
        times = f"{self.count} x " if self.count > 1 else ""
        off = f", at most {self.deviation_mm:.4f} mm off" if self.deviation_mm > 0.0 else ""
        return f"{times}{self.what}{off}"


def summed(repairs: Iterable[Repair]) -> tuple[Repair, ...]:
    """Repairs of the same kind as one, in the order of their first."""
    found: dict[str, Repair] = {}
    for repair in repairs:
        before = found.get(repair.what, Repair(repair.what, 0))
        most = max(before.deviation_mm, repair.deviation_mm)
        found[repair.what] = Repair(repair.what, before.count + repair.count, most)
    return tuple(repair for repair in found.values() if repair.count)


@dataclass(slots=True)
class EdgeNet:
    """Edges with their layers, the joint of each end, where each joint is, and what was done so far.

    Full circles have no ends and stand aside.
    """

    edges: list[Edge]
    layers: list[str]
    ends: list[tuple[int, int]]
    places: dict[int, Point]
    circles: list[tuple[Edge, str]]
    repairs: list[Repair] = field(default_factory=list)

    @staticmethod
    def of(pieces: Sequence[Piece]) -> EdgeNet:
        """The net of pieces; ends that count as joined are one joint."""
        drawn = [(edge, piece.entity.layer) for piece in pieces for edge in piece.edges]
        circles = [(edge, layer) for edge, layer in drawn if edge.is_circle]
        parts = [(part, layer) for edge, layer in drawn if not edge.is_circle for part in short_arcs(edge)]
        points = [p for edge, _ in parts for p in (edge.start, edge.end)]
        labels = joints(points)
        ends = list(zip(labels[0::2], labels[1::2], strict=True))
        net = EdgeNet([e for e, _ in parts], [n for _, n in parts], ends, middles(points, labels), circles)
        net._drop({i for i, (a, b) in enumerate(ends) if a == b}, "point or line of no length dropped")
        return net

    def mend(self, gap_mm: float) -> None:
        """Drop doubles, close short lines up, join gaps up to `gap_mm`."""
        self._drop_doubles()
        while self._close_up_once(min(gap_mm, SHORTEST_EDGE_MM)):
            pass
        degree = Counter(joint for pair in self.ends for joint in pair)
        loose = [joint for joint, count in degree.items() if count == 1]
        gaps = near_ends([self.places[joint] for joint in loose], gap_mm)
        self._merge([(loose[i], loose[j]) for i, j, _ in gaps], "gap joined")
        # A line that was closed up, or joined to its own end, can leave a double behind.
        self._drop_doubles()

    def moved_edges(self) -> list[Edge]:
        """The edges between their joints as these are now."""
        return [_moved(e, self.places[a], self.places[b]) for e, (a, b) in zip(self.edges, self.ends, strict=True)]

    def _drop(self, gone: set[int], what: str = "") -> None:
        if gone and what:
            self.repairs.append(Repair(what, len(gone)))
        kept = [i for i in range(len(self.edges)) if i not in gone]
        self.edges, self.layers = [self.edges[i] for i in kept], [self.layers[i] for i in kept]
        self.ends = [self.ends[i] for i in kept]

    def _drop_doubles(self) -> None:
        """Edges between the same two joints that run the same way round, and circles that lie on each other."""
        known: dict[tuple[int, int], list[Point]] = defaultdict(list)
        gone: set[int] = set()
        for i, (edge, (a, b)) in enumerate(zip(self.moved_edges(), self.ends, strict=True)):
            middles_there = known[min(a, b), max(a, b)]
            if any(dist(edge.middle, other) <= SAME_END_MM for other in middles_there):
                gone.add(i)
            else:
                middles_there.append(edge.middle)
        self._drop(gone, "line or arc that was there twice dropped")
        pairs = near_pairs([edge.box for edge, _ in self.circles], 0.0)
        doubled = {j for i, j in pairs if overlap(self.circles[i][0], self.circles[j][0]) is EdgeOverlap.WHOLE}
        if doubled:
            self.repairs.append(Repair("circle that was there twice dropped", len(doubled)))
        self.circles = [c for i, c in enumerate(self.circles) if i not in doubled]

    def _close_up_once(self, limit_mm: float) -> bool:
        """Edges too short to cut are left out, and their neighbours meet instead; whether there was one.

        The shortest first, and each only if its joints are still where they were.
        """
        short = sorted((e.length_mm, i) for i, e in enumerate(self.moved_edges()) if e.length_mm < limit_mm)
        gone: dict[int, tuple[int, int]] = {}
        touched: set[int] = set()
        for _, i in short:
            if touched.isdisjoint(self.ends[i]):
                touched.update(self.ends[i])
                gone[i] = self.ends[i]
        self._drop(set(gone))
        self._merge(list(gone.values()), "line too short to cut left out, its neighbours joined")
        self._drop({k for k, (p, q) in enumerate(self.ends) if p == q}, "line of no length dropped")
        return bool(gone)

    def _merge(self, pairs: Sequence[tuple[int, int]], what: str) -> None:
        """Pairs of joints, no joint in two of them, become one each: where their edges would meet, or half way."""
        at: dict[int, list[Edge]] = defaultdict(list)
        for edge, ends in zip(self.edges, self.ends, strict=True):
            for joint in ends:
                at[joint].append(edge)
        renamed: dict[int, int] = {}
        for a, b in pairs:
            p, q = self.places[a], self.places[b]
            self.places[a] = meeting = _meeting(p, q, at[a], at[b])
            renamed[b] = a
            self.repairs.append(Repair(what, 1, max(dist(meeting, p), dist(meeting, q))))
        self.ends = [(renamed.get(s, s), renamed.get(e, e)) for s, e in self.ends]


def _meeting(p: Point, q: Point, here: Sequence[Edge], there: Sequence[Edge]) -> Point:
    """Where two ends come together: where their own lines or circles cross near by, or else half way."""
    half = (0.5 * (p[0] + q[0]), 0.5 * (p[1] + q[1]))
    if len(here) != 1 or len(there) != 1:
        return half
    # An intersection farther off than the gap is wide belongs to lines that run nearly the same way.
    found = [m for m in carrier_points(here[0], there[0]) if max(dist(m, p), dist(m, q)) <= dist(p, q)]
    return min(found, key=lambda m: dist(m, half), default=half)


def _moved(edge: Edge, start: Point, end: Point) -> Edge:
    """The edge between other ends close by: an arc keeps its circle where it can, else its included angle."""
    if edge.start == start and edge.end == end:
        return edge
    if edge.is_line:
        return Edge(start, end)
    (x, y), radius = edge.centre, edge.radius_mm
    if max(abs(dist(p, edge.centre) - radius) for p in (start, end)) <= _ON_CIRCLE_MM:
        first, last = atan2(start[1] - y, start[0] - x), atan2(end[1] - y, end[0] - x)
        sweep = (last - first) % tau
        sweep = sweep if edge.sweep_rad > 0.0 else sweep - tau
        if abs(sweep - edge.sweep_rad) < 0.5:
            return replace(edge, start=start, end=end, start_rad=first, sweep_rad=sweep)
    return bulged(start, end, tan(0.25 * edge.sweep_rad))
