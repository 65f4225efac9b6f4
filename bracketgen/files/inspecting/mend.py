"""A drawing from anyone mended into a new file: only what is safe, with how far it strays from the original.

All lines and arcs that are cut are a net of joints first: what lies twice is dropped, ends that miss are joined.
"""

from __future__ import annotations

import re
import unicodedata
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from math import atan2, dist, fsum, tan, tau
from typing import Final

from ezdxf import edgeminer

from bracketgen.drawing.cut_sheet import Chain, Closure, CutSheet, Round, canonical
from bracketgen.errors import GeometryFault
from bracketgen.files.contours import Chains, DrawnContour, chains_of, is_cut, near_pairs
from bracketgen.files.dxf import layered_dxf
from bracketgen.files.edges import Edge, EdgeOverlap, Piece, Point, bulged, carrier_points, circle, overlap, short_arcs
from bracketgen.files.group_codes import FileEntity
from bracketgen.files.inspecting.arcs import arcs_round, facet_runs, stray_mm
from bracketgen.files.inspecting.drawing import MM, UNITS
from bracketgen.files.inspecting.inspection import Inspection, Limits, inspect_bytes
from bracketgen.files.inspecting.outlines import SAME_END_MM, joints, middles, near_ends, one_circle
from bracketgen.files.lint import Flaw, crossing_findings
from bracketgen.findings import Level
from bracketgen.geometry import gap
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
        return [_moved_edge(e, self.places[a], self.places[b]) for e, (a, b) in zip(self.edges, self.ends, strict=True)]

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


def _moved_edge(edge: Edge, start: Point, end: Point) -> Edge:
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


# -- the new file

#: An arc made of short lines may stray this far from them. Own choice: what ISO 9013 range 2 leaves a laser on
#: small parts is wider.
USUAL_DEVIATION_MM: Final = 0.1
#: What has no place in a cut file, or can't be brought into it; it is left out and told.
_LEFT_OUT: Final = {
    Flaw.TEXT, Flaw.DIMENSION, Flaw.HATCH, Flaw.POINT, Flaw.GUIDE_LINE, Flaw.THREE_D, Flaw.PICTURE, Flaw.HIDDEN,
    Flaw.UNKNOWN_ENTITY, Flaw.PAPER_SPACE, Flaw.MISSING_BLOCK, Flaw.TILTED, Flaw.DEGENERATE, Flaw.NOT_FINITE,
    Flaw.TOO_MUCH,
}  # fmt: skip
#: What comes right by being read and written again.
_WRITTEN_RIGHT: Final = {
    Flaw.Z_NOT_ZERO: "flattened to z = 0",
    Flaw.EXTRUSION: "drawn as seen from above",
    Flaw.BLOCK: "block broken up",
    Flaw.WIDE_LINE: "line's width dropped",
    Flaw.DASHED_LINE: "line drawn through",
    Flaw.FULL_ARC: "full arc made a circle",
    Flaw.EXPONENT: "number written in plain decimals",
    Flaw.CLOSED_FLAG: "polyline closed by its flag",
    Flaw.REPEATED_FIRST_POINT: "last point on the first dropped",
    Flaw.BULGE_TOO_BIG: "arc over a half circle split",
    Flaw.MIXED_LAYERS: "contour put on one layer",
    Flaw.POINT_COUNT: "count of points set right",
    Flaw.FITTED_POLYLINE: "fitted curve kept as the short lines it was shown by",
}
_LONGEST_NAME: Final = 31
#: Points tried along an arc, besides its end, for how far it moved.
_SAMPLES: Final = 8
#: Written numbers carry nine decimals; their rounding is no move.
_ROUNDING_MM: Final = 1e-7


@dataclass(frozen=True, slots=True)
class Mended:
    """The new file, what was done, what was left (grave or not), and what its own inspection still finds.

    `deviation_mm` is the farthest that any line moved; an area differs by no more than this times its perimeter.
    """

    data: bytes
    done: tuple[Repair, ...]
    left: tuple[Repair, ...]
    after: Inspection
    deviation_mm: float
    lost_geometry: bool

    @property
    def failed(self) -> bool:
        """Whether the new file is unfit to cut from, or lacks something that may belong to the part."""
        return self.after.failed or self.lost_geometry


def mend(before: Inspection, limits: Limits, most_mm: float = USUAL_DEVIATION_MM) -> Mended | None:
    """A new file from an inspected one; None when there is nothing that could be mended.

    Gaps up to the limits' gap are joined; arcs made of short lines may stray by `most_mm`.
    """
    drawing = before.drawing
    if drawing is None or not drawing.pieces:
        return None
    names = cleaned_names(p.entity.layer for p in drawing.pieces)
    new = _NewDrawing(names, most_mm)
    new.done += _read_and_written(before, names)
    new.cut(drawing.cut, limits.gap_mm)
    new.not_cut(drawing.not_cut)
    done = summed(new.done)
    dropped = [f for f in before.findings if f.code in _LEFT_OUT or f in drawing.troubles]
    left = summed([*(Repair(f"left out: {f.what}") for f in dropped), *new.left])
    try:
        data = new.written()
    except GeometryFault:
        return None
    after = inspect_bytes(data, Limits(limits.gap_mm, MM, limits.process, limits.thickness_mm))
    lost = any(f.level is Level.FAIL for f in dropped)
    moved = moved_mm(drawing.pieces, after.drawing.pieces if after.drawing else (), limits.gap_mm + most_mm + 1.0)
    deviation = max([moved, *(repair.deviation_mm for repair in done)])
    return Mended(data, done, left, after, deviation if deviation > _ROUNDING_MM else 0.0, lost)


def _read_and_written(before: Inspection, names: dict[str, str]) -> Iterator[Repair]:
    """What reading and writing alone puts right."""
    assert before.drawing is not None
    if any(f.code in (Flaw.UNITS, Flaw.UNITS_UNCLEAR) for f in before.findings):
        unit = before.drawing.unit
        yield Repair("unit set to millimetres" if unit == MM else f"{UNITS[unit][0]} turned into millimetres")
    yield from (Repair(f"layer '{old}' named {new}") for old, new in names.items() if old != new)
    yield from (Repair(_WRITTEN_RIGHT[f.code]) for f in before.findings if f.code in _WRITTEN_RIGHT)
    for piece in before.drawing.pieces:
        if piece.entity.kind in ("SPLINE", "ELLIPSE"):
            what = "circle" if piece.edges[0].is_circle else "lines and arcs"
            yield Repair(f"{piece.entity.kind} made into {what}", 1, piece.deviation_mm)
        elif piece.deviation_mm > 0.0:
            yield Repair("stretched arc made into true arcs", 1, piece.deviation_mm)


def cleaned_names(names: Iterable[str]) -> dict[str, str]:
    """A name that every program reads for each layer: capitals, digits and underscores, different ones kept apart.

    Layer 0, which belongs to nothing in particular, becomes CUT. A name never changes from cut to not cut.
    """
    found: dict[str, str] = {}
    for name in sorted(set(names)):
        plain = unicodedata.normalize("NFKD", name.upper()).encode("ascii", "ignore").decode("ascii")
        plain = re.sub(r"[^A-Z0-9]+", "_", plain).strip("_") or "LAYER"
        clean = "CUT" if name == "0" else (plain if plain[0].isalpha() else f"L_{plain}")[:_LONGEST_NAME]
        if is_cut(clean) != is_cut(name):
            clean = "CUT" if is_cut(name) else "MARK"
        # Layer 0 may well share a name: drawn on by habit, it belongs to the layer CUT.
        taken, number = {new for old, new in found.items() if old != "0"} if name != "0" else set(), 2
        unique, stem = clean, clean[: _LONGEST_NAME - 4]
        while unique in taken:
            unique = f"{stem if is_cut(stem) == is_cut(name) else 'MARK'}_{number}"
            number += 1
        found[name] = unique
    return found


@dataclass(slots=True)
class _NewDrawing:
    """The new drawing while it is made: new layer names, how far an arc may stray from its short lines, mm."""

    names: dict[str, str]
    most_mm: float
    items: list[tuple[Round | Chain, str]] = field(default_factory=list)
    done: list[Repair] = field(default_factory=list)
    left: list[Repair] = field(default_factory=list)

    def written(self) -> bytes:
        """The new file: R2000, the same bytes for the same drawing. GeometryFault when nothing is drawn."""
        names = sorted({name for _, name in self.items})
        sheets = {name: canonical(_sheet(i for i, layer in self.items if layer == name)) for name in names}
        bounds = _sheet(item for item, _ in self.items).bounds_mm
        return layered_dxf({name: sheet.items for name, sheet in sheets.items()}, bounds)

    def cut(self, pieces: Sequence[Piece], gap_mm: float) -> None:
        """What is cut: doubles dropped, ends joined, contours made again."""
        net = EdgeNet.of(pieces)
        net.mend(gap_mm)
        self.done += net.repairs
        for edge, layer in net.circles:
            self.items.append((Round(*edge.centre, edge.radius_mm), self.names[layer]))
        edges = net.moved_edges()
        layer_of = {_either_way(edge): layer for edge, layer in zip(edges, net.layers, strict=True)}
        chains = chains_of([Piece(FileEntity("LINE", "0", (), 0), (edge,)) for edge in edges])
        for contour in chains.contours:
            layers = [layer_of.get(_either_way(e), "0") for e in contour.edges]
            layer = max(sorted(set(layers)), key=layers.count)
            self.items.append((self._remade(contour), self.names.get(layer, "CUT")))
        for chain in _open_chains(chains.broken):
            layer = layer_of.get(_either_way(chain[0]), "0")
            closed = len(chain) > 1 and chain[0].start == chain[-1].end
            self.items.append((_chain(chain, closed), self.names.get(layer, "CUT")))
        if chains.broken:
            self.left.append(Repair("open chain left open: its ends are too far apart, or more than two meet"))

    def not_cut(self, pieces: Sequence[Piece]) -> None:
        """What is bent or marked stays as it is, flat and in mm."""
        for piece in pieces:
            edges = [e for e in piece.edges if e.length_mm > 0.0]
            if edges and edges[0].is_circle:
                item: Round | Chain = Round(*edges[0].centre, edges[0].radius_mm)
            elif edges:
                parts = [part for e in edges for part in short_arcs(e)]
                item = _chain(parts, piece.closes and len(parts) > 1)
            else:
                continue
            self.items.append((item, self.names[piece.entity.layer]))

    def _remade(self, contour: DrawnContour) -> Round | Chain:
        """The contour with runs of short lines as arcs where these stray little enough, and whole circles."""
        edges, runs = facet_runs(contour.edges)
        good = [run for run in runs if run.deviation_mm <= self.most_mm]
        for run in runs:
            if run.deviation_mm > self.most_mm:
                off = f"{run.deviation_mm:.4f} mm off it"
                self.left.append(Repair(f"short lines for an arc of radius {run.radius_mm:.4g} mm left: {off}"))
        new: list[Edge] = []
        at = 0
        for run in good:
            new += edges[at : run.first]
            at = run.first + run.count
            start, end = edges[run.first].start, edges[at - 1].end
            if start == end:
                new.append(circle(run.centre, run.radius_mm))
            else:
                new += arcs_round(run.centre, run.radius_mm, start, end, run.sweep_rad)
        new += edges[at:]
        moved = fsum(run.deviation_mm * run.radius_mm * abs(run.sweep_rad) for run in good)
        if good and not _sound(DrawnContour(tuple(new), contour.line), contour, moved):
            new, good = list(contour.edges), []
            self.left.append(Repair("short lines for an arc left: the arc would cross its neighbours"))
        self.done += [Repair("short lines made into a true arc or circle", 1, run.deviation_mm) for run in good]
        if len(new) > 1 and one_circle(new):
            whole, off_mm = _whole_circle(new)
            self.done.append(Repair("circle in pieces made whole", 1, off_mm))
            new = [whole]
        return Round(*new[0].centre, new[0].radius_mm) if new[0].is_circle else _chain(new, closed=True)


def _sheet(items: Iterable[Round | Chain]) -> CutSheet:
    own = tuple(items)
    rounds = tuple(item for item in own if isinstance(item, Round))
    return CutSheet("mended", rounds, tuple(item for item in own if isinstance(item, Chain)))


def _either_way(edge: Edge) -> object:
    """The same for an edge whichever way it runs."""
    return tuple(sorted((round(x, 6), round(y, 6)) for x, y in (edge.start, edge.end, edge.middle)))


def _open_chains(edges: Sequence[Edge]) -> Iterator[list[Edge]]:
    """Edges that close to no contour, in rows; a row ends where an end is loose or more than two meet."""
    if not edges:
        return
    loose = [edgeminer.make_edge(edge.start, edge.end, payload=edge) for edge in edges]
    # Ends that belong together are the same numbers by now.
    for chain in edgeminer.find_all_simple_chains(edgeminer.Deposit(loose, gap_tol=_ROUNDING_MM)):
        yield [link.payload.reversed() if link.is_reverse else link.payload for link in chain]


def _chain(edges: Sequence[Edge], closed: bool) -> Chain:
    """Edges in order as a chain of points and bulges; all arcs are under a half circle."""
    points = [(*e.start, 0.0 if e.is_line else tan(0.25 * e.sweep_rad)) for e in edges]
    if not closed:
        points.append((*edges[-1].end, 0.0))
    return Chain(tuple(points), Closure.CLOSED if closed else Closure.OPEN)


def _sound(new: DrawnContour, old: DrawnContour, moved_mm2: float) -> bool:
    """Whether the area changed by no more than the lines moved, and the contour still keeps clear of itself."""
    if abs(new.area_mm2 - old.area_mm2) > 1.01 * moved_mm2 + 1e-9:
        return False
    now, before = (len(crossing_findings(Chains((contour,), (), (), ()))[0]) for contour in (new, old))
    return now <= before


def _whole_circle(edges: Sequence[Edge]) -> tuple[Edge, float]:
    """The circle that takes the place of arcs of one circle, and how far they stray from it at most."""
    length = fsum(e.length_mm for e in edges)
    x, y, r = (
        fsum(value * e.length_mm for value, e in zip(values, edges, strict=True)) / length
        for values in zip(*((*e.centre, e.radius_mm) for e in edges), strict=True)
    )
    shifts = [dist(e.centre, (x, y)) + abs(e.radius_mm - r) for e in edges]
    return circle((x, y), r), max(stray_mm([p for e in edges for p in (e.start, e.middle)], (x, y), r), *shifts)


def moved_mm(old: Sequence[Piece], new: Sequence[Piece], reach_mm: float) -> float:
    """The greatest distance from points along the old lines to the new ones and back, mm, up to `reach_mm`.

    What a spline or an ellipse strays from the arcs that it was read as is added to its own lines.
    """
    before, after = ([(edge, piece.deviation_mm) for piece in pieces for edge in piece.edges] for pieces in (old, new))
    return max(_farthest(before, after, reach_mm), _farthest(after, before, reach_mm))


def _farthest(these: Sequence[tuple[Edge, float]], those: Sequence[tuple[Edge, float]], reach_mm: float) -> float:
    points = [(point, stray) for edge, stray in these for point in _along(edge)]
    nearest = [reach_mm] * len(points)
    boxes = [(*point, *point) for point, _ in points]
    for i, j in gap.near_pairs(boxes, nearest.copy(), [edge.box for edge, _ in those]):
        edge, stray = those[j]
        nearest[i] = min(nearest[i], edge.distance_mm(points[i][0]) + stray)
    return max((near + stray for near, (_, stray) in zip(nearest, points, strict=True)), default=0.0)


def _along(edge: Edge) -> list[Point]:
    if edge.is_line:
        return [edge.start, edge.middle, edge.end]
    return [edge.point_at(edge.start_rad + edge.sweep_rad * k / _SAMPLES) for k in range(_SAMPLES + 1)]
