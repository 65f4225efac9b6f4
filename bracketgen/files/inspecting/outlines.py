"""What is cut in a drawing from anyone, as contours: gaps, doubles, crossings, short lines, and what lies in what."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import dist, fsum, tau
from typing import Final

from bracketgen.files.contours import Chains, DrawnContour, chains_of, holders, joint_of, near_pairs
from bracketgen.files.edges import Edge, Piece, Point
from bracketgen.files.inspecting.arcs import facet_runs, with_ends
from bracketgen.files.lint import Flaw, LintFinding, crossing_findings, overlap_findings, piece_findings

#: Ends nearer than this count as joined in a file from anyone: numbers written to three decimals are off by half
#: of it, and no machine shows it. Common practice, no source.
SAME_END_MM: Final = 0.002
#: Bulge of a half circle, and what rounding leaves over.
_HALF_CIRCLE: Final = 1.0 + 1e-9
#: Arcs whose centres and radii differ by less belong to one circle. Own choice, as for joined ends.
_SAME_CIRCLE_MM: Final = SAME_END_MM


@dataclass(frozen=True, slots=True)
class Outlines:
    """The contours of what is cut, gaps counted as joined, what stayed open, and every flaw of them.

    For each contour `around` is the smallest one around it (None for an outline), `depth` how many are around it.
    """

    chains: Chains
    around: tuple[int | None, ...]
    depth: tuple[int, ...]
    findings: tuple[LintFinding, ...]

    def outermost(self, index: int) -> int:
        """The outermost contour around one; itself for an outline."""
        outer = self.around[index]
        return index if outer is None else self.outermost(outer)

    @property
    def area_mm2(self) -> float:
        """Metal left: outlines less openings, of the contours that close."""
        pairs = zip(self.chains.contours, self.depth, strict=True)
        return fsum(contour.area_mm2 if depth % 2 == 0 else -contour.area_mm2 for contour, depth in pairs)


def outlines_of(cut: Sequence[Piece], gap_mm: float) -> Outlines:
    """Contours and every flaw of them; gaps up to `gap_mm` are told as gaps, wider ones as open chains."""
    found = [f for piece in cut for f in piece_findings(piece, _HALF_CIRCLE)]
    doubles, kept = overlap_findings(_welded(cut))
    loose = chains_of(kept)
    gaps = near_ends(loose.leaves, gap_mm)
    found += [*doubles, *_loose_findings(loose, gaps), *_layer_findings(kept, set(loose.leaves))]
    # What lies in what, and how near, is told as if the gaps were joined.
    chains = chains_of(_bridged(kept, loose.leaves, gaps))
    found += [f for contour in chains.contours for f in _shape_findings(contour)]
    crossings, touching = crossing_findings(chains)
    around = holders(chains.contours, touching)
    depth = tuple(map(len, around))
    found += crossings
    if not chains.broken:
        found += _nesting_findings(chains.contours, depth, touching)
    smallest = (min(own, key=lambda k: chains.contours[k].area_mm2, default=None) for own in around)
    return Outlines(chains, tuple(smallest), depth, tuple(found))


# -- ends that stand on the same place, or nearly


def joints(points: Sequence[Point], reach_mm: float = SAME_END_MM) -> list[int]:
    """For each point the number of its joint: points within reach of each other, also by way of others, share one."""
    parent = list(range(len(points)))

    def root(i: int) -> int:
        while parent[i] != i:
            parent[i] = parent[parent[i]]
            i = parent[i]
        return i

    for i, j in near_pairs([(*p, *p) for p in points], reach_mm):
        if dist(points[i], points[j]) <= reach_mm:
            parent[root(i)] = root(j)
    return [root(i) for i in range(len(points))]


def middles(points: Sequence[Point], labels: Sequence[int]) -> dict[int, Point]:
    """Where each joint is: the place that most of its points share, else the middle of them."""
    members: dict[int, list[Point]] = defaultdict(list)
    for point, label in zip(points, labels, strict=True):
        members[label].append(point)
    places = {}
    for label, own in members.items():
        common, times = Counter(own).most_common(1)[0]
        middle = (fsum(p[0] for p in own) / len(own), fsum(p[1] for p in own) / len(own))
        places[label] = common if 2 * times > len(own) else middle
    return places


def near_ends(points: Sequence[Point], reach_mm: float) -> list[tuple[int, int, float]]:
    """Pairs of loose ends within reach of each other and of no third one: index, index, distance in mm."""
    members: dict[int, list[int]] = defaultdict(list)
    for i, label in enumerate(joints(points, reach_mm)):
        members[label].append(i)
    pairs = [(own[0], own[1]) for own in members.values() if len(own) == 2]
    return [(i, j, dist(points[i], points[j])) for i, j in pairs]


def _welded(pieces: Sequence[Piece]) -> list[Piece]:
    """The pieces with ends that count as joined moved onto the same numbers; pieces of no length are left out."""
    kept = [p for p in pieces if p.closes or fsum(e.length_mm for e in p.edges) > 2 * SAME_END_MM]
    ends = [end for p in kept if not p.closes for end in (p.edges[0].start, p.edges[-1].end)]
    labels = joints(ends)
    places = middles(ends, labels)
    moved = iter([places[label] for label in labels])
    return [p if p.closes else replace(p, edges=with_ends(p.edges, next(moved), next(moved))) for p in kept]


def _bridged(pieces: Sequence[Piece], leaves: Sequence[Point], gaps: Sequence[tuple[int, int, float]]) -> list[Piece]:
    """The pieces with the two ends of each gap half way between them."""
    halves = {leaves[k]: _half_way(leaves[i], leaves[j]) for i, j, _ in gaps for k in (i, j)}
    moved = []
    for piece in pieces:
        if halves and not piece.closes:
            start, end = (halves.get(joint_of(p), p) for p in (piece.edges[0].start, piece.edges[-1].end))
            piece = replace(piece, edges=with_ends(piece.edges, start, end))
        moved.append(piece)
    return moved


def _half_way(a: Point, b: Point) -> Point:
    return 0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1])


# -- flaws of pieces and chains


def _loose_findings(chains: Chains, gaps: Sequence[tuple[int, int, float]]) -> Iterator[LintFinding]:
    for i, j, apart in gaps:
        yield LintFinding(Flaw.GAP, f"a gap of {apart:.4f} mm", _half_way(chains.leaves[i], chains.leaves[j]))
    paired = {k for i, j, _ in gaps for k in (i, j)}
    for i, leaf in enumerate(chains.leaves):
        if i not in paired:
            yield LintFinding(Flaw.OPEN_CHAIN, "a chain ends here", leaf)
    for point in chains.junctions:
        yield LintFinding(Flaw.JUNCTION, "more than two ends meet here", point)


def _layer_findings(pieces: Sequence[Piece], loose: set[Point]) -> Iterator[LintFinding]:
    """Contours that close only over several layers: each place where the layer changes."""
    layers: dict[str, list[Piece]] = defaultdict(list)
    for piece in pieces:
        layers[piece.entity.layer].append(piece)
    if len(layers) > 1:
        for point in sorted({leaf for own in layers.values() for leaf in chains_of(own).leaves} - loose):
            yield LintFinding(Flaw.MIXED_LAYERS, "one contour on two layers changes from one to the other here", point)


def _shape_findings(contour: DrawnContour) -> Iterator[LintFinding]:
    edges, runs = facet_runs(contour.edges)
    for run in runs:
        what = f"{run.count} short lines for an arc of radius {run.radius_mm:.4g} mm, {run.deviation_mm:.4f} mm off it"
        yield LintFinding(Flaw.FACETED_ARC, what, edges[run.first].start, contour.line)
    if len(contour.edges) > 1 and one_circle(contour.edges):
        first = contour.edges[0]
        what = f"a circle of diameter {2 * first.radius_mm:.4g} mm in {len(contour.edges)} arcs"
        yield LintFinding(Flaw.SPLIT_CIRCLE, what, first.centre, contour.line)


def one_circle(edges: Sequence[Edge]) -> bool:
    """Whether all edges are arcs of one circle that go round it once."""
    first = edges[0]
    alike = all(
        e.radius_mm > 0.0
        and abs(e.radius_mm - first.radius_mm) <= _SAME_CIRCLE_MM
        and dist(e.centre, first.centre) <= _SAME_CIRCLE_MM
        for e in edges
    )
    return alike and abs(abs(fsum(e.sweep_rad for e in edges)) - tau) * first.radius_mm <= 10.0 * _SAME_CIRCLE_MM


# -- what lies in what


def _nesting_findings(
    contours: Sequence[DrawnContour], depth: Sequence[int], touching: set[tuple[int, int]]
) -> Iterator[LintFinding]:
    """Contours in openings, which fall out, and outlines beside the largest one."""
    outlines = [i for i, deep in enumerate(depth) if deep == 0]
    largest = max(outlines, key=lambda i: contours[i].area_mm2, default=-1)
    for i, deep in enumerate(depth):
        place, line = contours[i].edges[0].middle, contours[i].line
        if deep >= 2:
            yield LintFinding(Flaw.NESTED, "a contour inside another opening", place, line)
        elif deep == 0 and i != largest and not any(i in pair for pair in touching):
            yield LintFinding(Flaw.OUTSIDE_OUTLINE, "a contour outside the largest outline", place, line)
