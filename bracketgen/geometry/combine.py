"""Adding and cutting closed chains, exactly.

Every edge is cut at every point where it meets another, each piece is asked what lies to its left and to
its right, and the pieces that separate metal from air are chained again. A piece keeps the line or the circle that it
came from (its provenance), so nothing is ever fitted: a vertex is the meeting of two known carriers.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from bracketgen.errors import GeometryFault
from bracketgen.geometry.contour import ChainSet, Contour, Edge
from bracketgen.geometry.crossing import meeting_points, shares_carrier
from bracketgen.geometry.edge import Arc, Line
from bracketgen.geometry.plane import Point
from bracketgen.tolerances import SAME_POINT_MM, SMALLEST_PIECE_MM2


class _Vertices:
    """Points within SAME_POINT_MM of each other are one vertex; the first seen gives its coordinates."""

    _CELL = 4 * SAME_POINT_MM

    def __init__(self) -> None:
        self.points: list[Point] = []
        self._cells: dict[tuple[int, int], list[int]] = defaultdict(list)

    def number(self, p: Point) -> int:
        x, y = p.x / self._CELL, p.y / self._CELL
        i, j = math.floor(x), math.floor(y)
        # Only a cell that the point lies close to can hold a vertex that is the same.
        for a in _near_cells(i, x - i):
            for b in _near_cells(j, y - j):
                for n in self._cells.get((a, b), ()):
                    if self.points[n].distance(p) <= SAME_POINT_MM:
                        return n
        self.points.append(p)
        self._cells[(i, j)].append(len(self.points) - 1)
        return len(self.points) - 1


def _near_cells(cell: int, share: float) -> tuple[int, ...]:
    """A cell, and its neighbour where the point lies within a quarter of a cell of it."""
    if share < 0.26:
        return (cell, cell - 1)
    return (cell, cell + 1) if share > 0.74 else (cell,)


@dataclass(slots=True)
class _Piece:
    """A stretch of an edge between two vertices; `chains` says which chains run along it, 1 = the same way."""

    start: int
    end: int
    edge: Edge
    middle: Point
    chains: dict[int, int] = field(default_factory=dict)


def _near_pairs(edges: Sequence[Edge], owner: Sequence[int]) -> list[tuple[int, int]]:
    boxes = np.array([e.bounds() for e in edges])
    lo, hi = boxes[:, :2] - SAME_POINT_MM, boxes[:, 2:] + SAME_POINT_MM
    who = np.array(owner)
    pairs: list[tuple[int, int]] = []
    for i in range(len(edges) - 1):
        rest = slice(i + 1, None)
        near = np.all((lo[rest] <= hi[i]) & (hi[rest] >= lo[i]), axis=1) & (who[rest] != who[i])
        pairs.extend((i, i + 1 + int(j)) for j in np.flatnonzero(near))
    return pairs


def _cut_into_pieces(chains: Sequence[Contour], vertices: _Vertices) -> list[_Piece]:
    edges = [e for c in chains for e in c.edges]
    owner = [i for i, c in enumerate(chains) for _ in c.edges]
    cuts = [{vertices.number(e.start), vertices.number(e.end)} for e in edges]
    for i, j in _near_pairs(edges, owner):
        for p in meeting_points(edges[i], edges[j]):
            n = vertices.number(p)
            cuts[i].add(n)
            cuts[j].add(n)
    pieces: dict[tuple[int, int], list[_Piece]] = defaultdict(list)
    for edge, chain, numbers in zip(edges, owner, cuts, strict=True):
        first, last = vertices.number(edge.start), vertices.number(edge.end)
        inner = sorted(numbers - {first, last}, key=lambda n: edge.along(vertices.points[n]))
        stops = [first, *inner, last]
        for a, b in pairwise(stops):
            if a != b:
                _add_piece(pieces, edge.between(vertices.points[a], vertices.points[b]), a, b, chain)
    return [p for bundle in pieces.values() for p in bundle]


def _add_piece(pieces: dict[tuple[int, int], list[_Piece]], edge: Edge, a: int, b: int, chain: int) -> None:
    bundle = pieces[(min(a, b), max(a, b))]
    middle = edge.middle
    for piece in bundle:
        if piece.middle.distance(middle) <= SAME_POINT_MM:
            way = 1 if piece.start == a else -1
            # A chain that runs along a stretch both ways encloses nothing there.
            piece.chains[chain] = 0 if piece.chains.get(chain, way) != way else way
            return
    bundle.append(_Piece(a, b, edge, middle, {chain: 1}))


def _boundary(pieces: list[_Piece], chains: Sequence[Contour], added: int) -> list[tuple[int, int, Edge]]:
    """The pieces with metal on one side only, turned so that the metal is on the left."""
    holds = ChainSet(chains).hold([p.middle for p in pieces])
    kept: list[tuple[int, int, Edge]] = []
    for piece, row in zip(pieces, holds, strict=True):
        left, right = row.copy(), row.copy()
        for chain, way in piece.chains.items():
            left[chain], right[chain] = way > 0, way < 0
        metal_left = bool(left[:added].any()) and not bool(left[added:].any())
        metal_right = bool(right[:added].any()) and not bool(right[added:].any())
        if metal_left and not metal_right:
            kept.append((piece.start, piece.end, piece.edge))
        elif metal_right and not metal_left:
            kept.append((piece.end, piece.start, piece.edge.reversed()))
    return kept


def _chain_up(kept: list[tuple[int, int, Edge]], vertices: _Vertices) -> list[Contour]:
    leaving: dict[int, tuple[int, Edge]] = {}
    for start, end, edge in kept:
        if start in leaving:
            p = vertices.points[start]
            raise GeometryFault("the outline touches itself in one point (a web of no width)", p)
        leaving[start] = (end, edge)
    loops: list[Contour] = []
    while leaving:
        first = next(iter(leaving))
        at, edges = first, []
        while at in leaving:
            at, edge = leaving.pop(at)
            edges.append(edge)
        if at != first:
            raise GeometryFault("the outline can't be closed", vertices.points[at])
        loops.append(tidy(Contour(tuple(edges))))
    return loops


def _joined(a: Edge, b: Edge) -> Edge | None:
    """One edge instead of two that run on along the same carrier, or None."""
    if isinstance(a, Line) != isinstance(b, Line) or not shares_carrier(a, b):
        return None
    if isinstance(a, Arc) and isinstance(b, Arc):
        sweep = a.sweep_rad + b.sweep_rad
        if a.sweep_rad * b.sweep_rad < 0 or abs(sweep) > 1.999 * math.pi:
            return None
        return Arc(a.start, b.end, a.centre, a.radius, sweep)
    ahead = a.end.minus(a.start).dot(b.end.minus(b.start)) > 0
    return Line(a.start, b.end) if ahead else None


def _halved(edge: Edge) -> list[Edge]:
    """An arc of a half turn or more as two: some readers take a bulge of 1 or above for an error."""
    if isinstance(edge, Line) or abs(edge.sweep_rad) < 0.999 * math.pi:
        return [edge]
    m, half = edge.middle, edge.sweep_rad / 2
    return [
        Arc(edge.start, m, edge.centre, edge.radius, half),
        Arc(m, edge.end, edge.centre, edge.radius, half),
    ]


def tidy(chain: Contour) -> Contour:
    """The same chain with runs along one line or circle joined, and arcs kept under a half turn."""
    edges = list(chain.edges)
    i = 0
    while len(edges) > 2 and i < len(edges):
        joined = _joined(edges[i - 1], edges[i])
        if joined is None:
            i += 1
        else:
            edges[i - 1] = joined
            del edges[i]
            i = max(0, i - 1)
    return Contour(tuple(part for e in edges for part in _halved(e)))


@dataclass(frozen=True, slots=True)
class Region:
    """Metal inside `outer` (anticlockwise) and outside every chain of `inner` (clockwise)."""

    outer: Contour
    inner: tuple[Contour, ...] = ()

    @property
    def area(self) -> float:
        """Area of the metal, mm2."""
        return self.outer.area + math.fsum(c.area for c in self.inner)


def combine(added: Sequence[Contour], cut: Sequence[Contour] = (), *, drop_slivers: bool = False) -> list[Region]:
    """The bodies left when every chain of `cut` is taken from the sum of `added`.

    Raises GeometryFault where the result would touch itself in a point. Left-overs under SMALLEST_PIECE_MM2 are an
    error too, as they come from edges that were meant to coincide, unless they are dropped.
    """
    if not added:
        return []
    chains = [c.anticlockwise() for c in (*added, *cut)]
    vertices = _Vertices()
    pieces = _cut_into_pieces(chains, vertices)
    if not pieces:
        return []
    loops = _chain_up(_boundary(pieces, chains, len(added)), vertices)
    slivers = [loop for loop in loops if abs(loop.area) < SMALLEST_PIECE_MM2]
    if slivers and not drop_slivers:
        raise GeometryFault("a sliver under 0.01 mm2 is left over", slivers[0].edges[0].start)
    return _nested([loop for loop in loops if abs(loop.area) >= SMALLEST_PIECE_MM2])


def _nested(loops: list[Contour]) -> list[Region]:
    outers = [c for c in loops if c.area > 0]
    inners: list[list[Contour]] = [[] for _ in outers]
    for hole in (c for c in loops if c.area < 0):
        # Any point of the hole's edge lies strictly inside its own body: loops never touch.
        holding = [i for i, h in enumerate(ChainSet(outers).hold([hole.edges[0].middle])[0]) if h]
        inners[min(holding, key=lambda i: outers[i].area)].append(hole)
    return [Region(o, tuple(i)) for o, i in zip(outers, inners, strict=True)]


def one_body(regions: Sequence[Region], what: str) -> Region:
    """The only body; GeometryFault naming `what` when there is none or more than one."""
    if len(regions) == 1:
        return regions[0]
    if not regions:
        raise GeometryFault(f"{what}: nothing is left")
    small = min(regions, key=lambda r: r.area)
    raise GeometryFault(f"{what}: falls into {len(regions)} separate pieces", small.outer.edges[0].start)
