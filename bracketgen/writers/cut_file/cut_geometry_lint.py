"""Lint of a cut file's geometry: chains, edges, overlaps, crossings, what lies inside what."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import atan2, fsum, hypot, pi, radians, tau

from bracketgen.tolerances import SHORTEST_EDGE_MM
from bracketgen.writers.cut_file.group_codes import GroupCodeFile
from bracketgen.writers.cut_file.lint_finding import Flaw, LintFinding
from bracketgen.writers.readback.contacts import SAME_LINE_MM, Overlap, meeting_points, overlap
from bracketgen.writers.readback.contours import Chains, Contour, InsideTest, box_round, chains_of, is_cut, near_pairs
from bracketgen.writers.readback.edges import Edge, Piece, Point, pieces_of

#: Largest side of a part that the tool makes (pains row 19: outside 5 mm to 3 m a unit is wrong).
_LEAST_SIZE_MM, _MOST_SIZE_MM = 5.0, 3000.0
#: How far the header's extents may be from the true bounds (pains row 61).
_EXTENTS_MM = 1e-6
#: Four equal chords with equal turns up to this many degrees are an arc in small lines. A twelve-sided
#: opening turns 30° at each corner and counts as a circle; an eight-sided one, 45°, does not
#: (common practice, no source).
_FACET_TURN_RAD = radians(30.5)
_FACET_CHORDS = 4
#: Chords and turns that differ by less than this part of themselves are equal, as far as rounded files show.
_FACET_LIKENESS = 1e-3


def geometry_findings(file: GroupCodeFile) -> Iterator[LintFinding]:
    """Every flaw of the geometry. All numbers must be finite. Raises GroupCodeFault for a broken entity."""
    pieces = tuple(pieces_of(file.entities))
    for piece in pieces:
        yield from _piece_findings(piece)
    if pieces:
        yield from _extents_findings(file, pieces)
    cut = [p for p in pieces if is_cut(p.entity.layer)]
    if not cut:
        yield LintFinding(Flaw.EMPTY, "there is nothing to cut")
        return
    yield from _size_findings(cut)
    doubles, kept = overlap_findings(pieces)
    yield from doubles
    chains = chains_of([p for p in kept if is_cut(p.entity.layer)])
    yield from _chain_findings(chains)
    crossings, touching = crossing_findings(chains)
    yield from crossings
    if chains.contours and not chains.broken:
        yield from _nesting_findings(chains.contours, touching)


def _piece_findings(piece: Piece) -> Iterator[LintFinding]:
    line = piece.entity.line
    if piece.flag_closed and piece.repeats_first:
        yield LintFinding(Flaw.REPEATED_FIRST_POINT, "the last point stands on the first", piece.edges[0].start, line)
    elif piece.repeats_first:
        yield LintFinding(Flaw.CLOSED_FLAG, "a polyline that closes by its points alone", piece.edges[0].start, line)
    for edge, bulge in zip(piece.edges, piece.bulges, strict=False):
        if abs(bulge) >= 1.0:
            yield LintFinding(Flaw.BULGE_TOO_BIG, f"an arc of bulge {bulge:g}", edge.start, line)
    for edge in piece.edges:
        if edge.length_mm < SHORTEST_EDGE_MM:
            what = f"an edge {edge.length_mm:.6f} mm long (at least {SHORTEST_EDGE_MM})"
            yield LintFinding(Flaw.TINY_EDGE, what, edge.start, line)


def _extents_findings(file: GroupCodeFile, pieces: Sequence[Piece]) -> Iterator[LintFinding]:
    box = box_round(edge.box for piece in pieces for edge in piece.edges)
    for name, corner in (("$EXTMIN", box[:2]), ("$EXTMAX", box[2:])):
        x, y = file.header_number(name, 10), file.header_number(name, 20)
        if x is None or y is None:
            yield LintFinding(Flaw.EXTENTS, f"the header has no {name}", corner)
        elif max(abs(x - corner[0]), abs(y - corner[1])) > _EXTENTS_MM:
            what = f"{name} says ({x:.6f}, {y:.6f}), the drawing ({corner[0]:.6f}, {corner[1]:.6f})"
            yield LintFinding(Flaw.EXTENTS, what, corner)


def _size_findings(cut: Sequence[Piece]) -> Iterator[LintFinding]:
    x0, y0, x1, y1 = box_round(edge.box for piece in cut for edge in piece.edges)
    if not _LEAST_SIZE_MM <= max(x1 - x0, y1 - y0) <= _MOST_SIZE_MM:
        yield LintFinding(Flaw.SIZE, f"the part is {x1 - x0:.3f} x {y1 - y0:.3f} mm", (x0, y0))


def overlap_findings(pieces: Sequence[Piece]) -> tuple[list[LintFinding], list[Piece]]:
    """Edges that lie on each other, both cut or on one layer; and the pieces without those doubles."""
    found: list[LintFinding] = []
    owners = [(i, edge) for i, piece in enumerate(pieces) for edge in piece.edges]
    shared: dict[int, dict[int, set[int]]] = {}
    for a, b in near_pairs([edge.box for _, edge in owners], SAME_LINE_MM):
        (i, one), (j, two) = owners[a], owners[b]
        layers = {pieces[i].entity.layer, pieces[j].entity.layer}
        # A mark may lie on a cut; a cut on another cut is cut twice, whatever the layers are called.
        if len(layers) > 1 and not all(map(is_cut, layers)):
            continue
        kind = overlap(one, two)
        if kind is Overlap.NONE:
            continue
        flaw, word = (
            (Flaw.DOUBLED_EDGE, "is there twice")
            if kind is Overlap.WHOLE
            else (Flaw.OVERLAPPING_EDGE, "lies partly on another")
        )
        short = min(one, two, key=lambda edge: edge.length_mm)
        found.append(LintFinding(flaw, f"an edge {word}", short.middle, pieces[j].entity.line))
        for me, other, edge in ((i, j, a), (j, i, b)):
            shared.setdefault(me, {}).setdefault(edge, set()).add(other)
    return found, _without_doubles(pieces, shared)


def _without_doubles(pieces: Sequence[Piece], shared: dict[int, dict[int, set[int]]]) -> list[Piece]:
    """Leaves out, shortest and last first, each piece all of whose edges lie on a piece that stays.

    Otherwise one doubled line would be told again as an open chain, a junction and a crossing.
    """
    dropped: set[int] = set()
    lengths = {index: fsum(edge.length_mm for edge in pieces[index].edges) for index in shared}
    for index in sorted(shared, key=lambda i: (round(lengths[i], 6), -i)):
        partners = shared[index]
        covered = [others - dropped - {index} for others in partners.values()]
        if len(partners) == len(pieces[index].edges) and all(covered):
            dropped.add(index)
    return [piece for index, piece in enumerate(pieces) if index not in dropped]


def _chain_findings(chains: Chains) -> Iterator[LintFinding]:
    for point in chains.leaves:
        yield LintFinding(Flaw.OPEN_CHAIN, "a chain ends here", point)
    for point in chains.junctions:
        yield LintFinding(Flaw.JUNCTION, "more than two ends meet here", point)
    for contour in chains.contours:
        at = _facet_place(contour)
        if at:
            yield LintFinding(Flaw.FACETED_ARC, "an arc drawn as small straight lines", at, contour.line)


def _facet_place(contour: Contour) -> Point | None:
    """Where four equal chords follow each other round one circle; None when nowhere."""
    if len(contour.edges) < _FACET_CHORDS:
        return None
    ring = [*contour.edges, *contour.edges[: _FACET_CHORDS - 1]]
    run, last_turn = 1, 0.0
    for one, two in pairwise(ring):
        turn = _turn_rad(one, two)
        alike = one.is_line and two.is_line and _alike(one.length_mm, two.length_mm)
        if not alike or not 0.0 < abs(turn) <= _FACET_TURN_RAD:
            run = 1
        else:
            run = run + 1 if run > 1 and _alike(turn, last_turn) else 2
        if run >= _FACET_CHORDS:
            return two.start
        last_turn = turn
    return None


def _alike(one: float, two: float) -> bool:
    return abs(one - two) <= _FACET_LIKENESS * max(abs(one), abs(two))


def _turn_rad(one: Edge, two: Edge) -> float:
    before = atan2(one.end[1] - one.start[1], one.end[0] - one.start[0])
    after = atan2(two.end[1] - two.start[1], two.end[0] - two.start[0])
    return (after - before + pi) % tau - pi


def crossing_findings(chains: Chains) -> tuple[list[LintFinding], set[tuple[int, int]]]:
    """Where contours cross or touch, and the pairs of contours that share anything."""
    # An edge too short to cut is told as such; its neighbours count as joined.
    rings = [[e for e in c.edges if e.length_mm >= SHORTEST_EDGE_MM] for c in chains.contours]
    rings += [[edge] for edge in chains.broken]
    places = [(i, k) for i, ring in enumerate(rings) for k in range(len(ring))]
    overlapping: set[tuple[int, int]] = set()
    met: dict[tuple[int, int], list[tuple[Point, int]]] = {}
    for a, b in near_pairs([rings[i][k].box for i, k in places], SAME_LINE_MM):
        (i, k), (j, m) = sorted((places[a], places[b]))
        one, two = rings[i][k], rings[j][m]
        if overlap(one, two) is not Overlap.NONE:
            overlapping.add((i, j))
            continue
        joints = _joints(rings[i], k, m) if i == j else _shared_ends(one, two, i, j, len(chains.contours))
        fresh = [p for p in meeting_points(one, two) if not _near_any(p, joints)]
        line = chains.contours[j].line if j < len(chains.contours) else 0
        met.setdefault((i, j), []).extend((point, line) for point in fresh)
    crossings = [
        LintFinding(Flaw.CROSSING, "contours meet", point, line)
        for pair, found in met.items()
        if pair not in overlapping
        for point, line in _distinct(found)
    ]
    return crossings, overlapping | {pair for pair, found in met.items() if found}


def _joints(ring: Sequence[Edge], k: int, m: int) -> list[Point]:
    """The vertices at which two edges of one contour follow each other."""
    joints = []
    if (k + 1) % len(ring) == m:
        joints.append(ring[k].end)
    if (m + 1) % len(ring) == k:
        joints.append(ring[m].end)
    return joints


def _shared_ends(one: Edge, two: Edge, i: int, j: int, contours: int) -> list[Point]:
    """Ends of two edges that stand on each other; they excuse a contact only where a chain is broken anyway."""
    if i < contours and j < contours:
        return []
    return [p for p in (one.start, one.end) if _near_any(p, (two.start, two.end))]


def _near_any(point: Point, others: Sequence[Point]) -> bool:
    # Rounded numbers let a line cut its own tangent arc a little beside their joint.
    return any(hypot(point[0] - x, point[1] - y) <= SHORTEST_EDGE_MM for x, y in others)


def _distinct(found: Sequence[tuple[Point, int]]) -> Iterator[tuple[Point, int]]:
    seen: list[Point] = []
    for point, line in found:
        if not _near_any(point, seen):
            seen.append(point)
            yield point, line


def _nesting_findings(contours: Sequence[Contour], touching: set[tuple[int, int]]) -> Iterator[LintFinding]:
    """Finds what lies outside the largest contour, and what lies in another hole."""
    areas = [contour.area_mm2 for contour in contours]
    outer = max(range(len(contours)), key=lambda i: areas[i])
    outline = InsideTest(contours[outer])
    for index, contour in enumerate(contours):
        if index == outer or tuple(sorted((index, outer))) in touching:
            continue
        point = contour.edges[0].start
        if not outline.holds(point):
            yield LintFinding(Flaw.OUTSIDE_OUTLINE, "a contour outside the outline", point, contour.line)
    for i, j in near_pairs([contour.box for contour in contours], 0.0):
        if outer in (i, j) or (i, j) in touching:
            continue
        small, large = sorted((i, j), key=lambda k: areas[k])
        point = contours[small].edges[0].start
        if InsideTest(contours[large]).holds(point):
            yield LintFinding(Flaw.NESTED, "a contour inside another hole", point, contours[small].line)
