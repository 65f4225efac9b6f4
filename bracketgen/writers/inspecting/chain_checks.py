"""What can be said of the contours: gaps, doubles, crossings, short lines, facets, what lies in what."""

from __future__ import annotations

from collections.abc import Generator, Iterator, Sequence
from dataclasses import dataclass
from math import fsum, hypot, tau
from typing import TypeVar

from bracketgen.tolerances import SHORTEST_EDGE_MM
from bracketgen.writers.cut_file.cut_geometry_lint import crossing_findings, overlap_findings
from bracketgen.writers.cut_file.lint_finding import Flaw, LintFinding
from bracketgen.writers.readback.contours import Chains, Contour, chains_of, joint_of
from bracketgen.writers.readback.edges import Edge, Piece, Point
from bracketgen.writers.readback.facets import facet_runs
from bracketgen.writers.readback.joints import SAME_END_MM, between, joints, welded
from bracketgen.writers.readback.nesting import Nesting, inner_point, nesting

T = TypeVar("T")

#: Arcs whose centres and radii differ by less belong to one circle. Own choice, as for joined ends.
_SAME_CIRCLE_MM = SAME_END_MM


@dataclass(frozen=True, slots=True)
class Outlines:
    """The contours of what is cut, gaps counted as joined; how they lie in each other; what stayed open."""

    chains: Chains
    nesting: Nesting
    findings: tuple[LintFinding, ...]


def outlines_of(cut: Sequence[Piece], gap_mm: float) -> Outlines:
    """Contours and every flaw of them; gaps up to `gap_mm` are told as gaps, wider ones as open chains."""
    found = [f for piece in cut for f in _piece_findings(piece)]
    pieces = welded(cut)
    kept = _drain(overlap_findings(pieces), found)
    chains = chains_of(kept)
    found += _loose_findings(chains, gap_mm)
    found += _layer_findings(kept, chains)
    # What lies in what, and how near, is told as if the gaps were joined.
    chains = chains_of(_bridged(kept, chains.leaves, gap_mm))
    for contour in chains.contours:
        found += _shape_findings(contour)
    touching = _drain(crossing_findings(chains), found)
    nested = nesting(chains.contours, touching)
    if not chains.broken:
        found += _nesting_findings(chains.contours, nested, touching)
    return Outlines(chains, nested, tuple(found))


def _drain(check: Generator[LintFinding, None, T], found: list[LintFinding]) -> T:
    """All findings of a check that also returns something."""
    while True:
        try:
            found.append(next(check))
        except StopIteration as end:
            value: T = end.value
            return value


def _piece_findings(piece: Piece) -> Iterator[LintFinding]:
    line, start = piece.entity.line, piece.edges[0].start
    if piece.flag_closed and piece.repeats_first:
        yield LintFinding(Flaw.REPEATED_FIRST_POINT, "the last point stands on the first", start, line)
    elif piece.repeats_first:
        yield LintFinding(Flaw.CLOSED_FLAG, "a polyline that closes by its points alone", start, line)
    for bulge in piece.bulges:
        if abs(bulge) > 1.0 + 1e-9:
            yield LintFinding(Flaw.BULGE_TOO_BIG, f"an arc of bulge {bulge:g}", start, line)
    if piece.entity.kind in ("SPLINE", "ELLIPSE"):
        return
    for edge in piece.edges:
        if edge.length_mm < SHORTEST_EDGE_MM:
            what = f"a line {edge.length_mm:.4f} mm long (at least {SHORTEST_EDGE_MM})"
            yield LintFinding(Flaw.TINY_EDGE, what, edge.start, line)


def _loose_findings(chains: Chains, gap_mm: float) -> Iterator[LintFinding]:
    leaves = chains.leaves
    paired: set[int] = set()
    for i, j, apart in near_ends(leaves, gap_mm):
        paired |= {i, j}
        (x0, y0), (x1, y1) = leaves[i], leaves[j]
        yield LintFinding(Flaw.GAP, f"a gap of {apart:.4f} mm", (0.5 * (x0 + x1), 0.5 * (y0 + y1)))
    for i, leaf in enumerate(leaves):
        if i not in paired:
            yield LintFinding(Flaw.OPEN_CHAIN, "a chain ends here", leaf)
    for point in chains.junctions:
        yield LintFinding(Flaw.JUNCTION, "more than two ends meet here", point)


def _bridged(pieces: Sequence[Piece], leaves: Sequence[Point], gap_mm: float) -> Sequence[Piece]:
    """The pieces with the two ends of each gap half way between them."""
    halves: dict[Point, Point] = {}
    for i, j, _ in near_ends(leaves, gap_mm):
        (x0, y0), (x1, y1) = leaves[i], leaves[j]
        halves[leaves[i]] = halves[leaves[j]] = (0.5 * (x0 + x1), 0.5 * (y0 + y1))
    if not halves:
        return pieces
    moved = []
    for piece in pieces:
        ends = (piece.edges[0].start, piece.edges[-1].end)
        new = [halves.get(joint_of(end), end) for end in ends]
        moved.append(piece if piece.closes else between(piece, new[0], new[1]))
    return moved


def near_ends(points: Sequence[Point], reach_mm: float) -> list[tuple[int, int, float]]:
    """Pairs of loose ends within reach of each other and of no third one: index, index, distance in mm."""
    found = []
    members: dict[int, list[int]] = {}
    for i, label in enumerate(joints(points, reach_mm)):
        members.setdefault(label, []).append(i)
    for group in members.values():
        if len(group) == 2:
            i, j = group
            found.append((i, j, hypot(points[i][0] - points[j][0], points[i][1] - points[j][1])))
    return found


def _layer_findings(pieces: Sequence[Piece], chains: Chains) -> Iterator[LintFinding]:
    """Contours that close only over several layers: each place where the layer changes."""
    layers: dict[str, list[Piece]] = {}
    for piece in pieces:
        layers.setdefault(piece.entity.layer, []).append(piece)
    if len(layers) < 2:
        return
    loose = set(chains.leaves)
    changes = {leaf for own in layers.values() for leaf in chains_of(own).leaves} - loose
    for point in sorted(changes):
        yield LintFinding(Flaw.MIXED_LAYERS, "one contour on two layers changes from one to the other here", point)


def _shape_findings(contour: Contour) -> Iterator[LintFinding]:
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
        and hypot(e.centre[0] - first.centre[0], e.centre[1] - first.centre[1]) <= _SAME_CIRCLE_MM
        for e in edges
    )
    return alike and abs(abs(fsum(e.sweep_rad for e in edges)) - tau) * first.radius_mm <= 10.0 * _SAME_CIRCLE_MM


def _nesting_findings(
    contours: Sequence[Contour], nested: Nesting, touching: set[tuple[int, int]]
) -> Iterator[LintFinding]:
    """Contours in openings, which fall out, and outlines beside the largest one."""
    outlines = [i for i, depth in enumerate(nested.depth) if depth == 0]
    largest = max(outlines, key=lambda i: contours[i].area_mm2, default=-1)
    for i, depth in enumerate(nested.depth):
        place, line = inner_point(contours[i]), contours[i].line
        if depth >= 2:
            yield LintFinding(Flaw.NESTED, "a contour inside another opening", place, line)
        elif depth == 0 and i != largest and not any(i in pair for pair in touching):
            yield LintFinding(Flaw.OUTSIDE_OUTLINE, "a contour outside the largest outline", place, line)
