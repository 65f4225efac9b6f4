"""Contours of a file: what closes by itself, and what loose lines and arcs make end to end."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import compress
from math import fsum
from typing import Final

from bracketgen.files.edges import Box, Edge, Piece, Point, short_arcs
from bracketgen.geometry import plane
from bracketgen.geometry.contour import ChainSet, Contour
from bracketgen.geometry.edge import Arc, Line
from bracketgen.geometry.gap import near_pairs as pairs_near

#: Decimals (mm) to which two ends must agree to count as joined: a gap of 2 µm is a gap.
JOINT_DECIMALS = 6
#: Edges up to this length are left out of the model's contours, which know no edge without a direction.
_NO_LENGTH_MM: Final = 1e-6
#: From so many points on all are asked at a time. Own choice.
_MANY: Final = 50
#: A layer with one of these in its name is not cut: what is bent, marked, or only told. Trade words; own choice.
_NOT_CUT: Final = (
    "MARK", "BEND", "FOLD", "ETCH", "ENGRAV", "SCRIBE", "CENTER", "CENTRE", "CONSTRUCT", "DIMENSION", "DEFPOINTS",
    "NOTE", "TEXT", "LABEL", "HIDDEN",
)  # fmt: skip


def is_cut(layer: str) -> bool:
    """Whether what is on the layer is taken as cut, as far as its name tells."""
    name = layer.upper()
    return not any(word in name for word in _NOT_CUT)


@dataclass(frozen=True, slots=True)
class DrawnContour:
    """A closed row of edges, or one full circle."""

    edges: tuple[Edge, ...]
    line: int
    box: Box = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "box", box_round(e.box for e in self.edges))

    @property
    def area_mm2(self) -> float:
        """Area within, whichever way it runs."""
        return abs(fsum(edge.area_share_mm2 for edge in self.edges))

    def true(self) -> Contour:
        """The contour as the model's own edges, anticlockwise, arcs well under a half circle."""
        edges: list[Line | Arc] = []
        for part in (p for edge in self.edges if edge.length_mm > _NO_LENGTH_MM for p in short_arcs(edge)):
            start, end, centre = (plane.Point(*p) for p in (part.start, part.end, part.centre))
            edges.append(Line(start, end) if part.is_line else Arc(start, end, centre, part.radius_mm, part.sweep_rad))
        return Contour(tuple(edges)).anticlockwise()


@dataclass(frozen=True, slots=True)
class Chains:
    """All contours of a set of pieces, the loose ends, and the points where more than two ends meet."""

    contours: tuple[DrawnContour, ...]
    leaves: tuple[Point, ...]
    junctions: tuple[Point, ...]
    broken: tuple[Edge, ...]


def box_round(boxes: Iterable[Box]) -> Box:
    """The box around boxes."""
    x0, y0, x1, y1 = zip(*boxes, strict=True)
    return min(x0), min(y0), max(x1), max(y1)


def near_pairs(boxes: Sequence[Box], reach_mm: float) -> Iterator[tuple[int, int]]:
    """Index pairs (i < j) of boxes no more than `reach_mm` apart in x and in y; each pair once."""
    return ((i, j) for i, j in pairs_near(boxes, [reach_mm] * len(boxes), boxes) if i < j)


def chains_of(pieces: Sequence[Piece]) -> Chains:
    """Join pieces end to end. Groups with a loose end or a junction are given as `broken` edges."""
    contours = [DrawnContour(p.edges, p.entity.line) for p in pieces if p.closes]
    loose = [p for p in pieces if not p.closes]
    ends: dict[Point, list[int]] = defaultdict(list)
    for index, piece in enumerate(loose):
        ends[joint_of(piece.edges[0].start)].append(index)
        ends[joint_of(piece.edges[-1].end)].append(index)
    leaves = tuple(joint for joint, at in ends.items() if len(at) == 1)
    junctions = tuple(joint for joint, at in ends.items() if len(at) > 2)
    broken: list[Edge] = []
    unused = set(range(len(loose)))
    for index in range(len(loose)):
        if index not in unused:
            continue
        group = _group(loose, ends, index)
        unused -= group
        if all(len(ends[joint]) == 2 for i in group for joint in _joints(loose[i])):
            contours.append(DrawnContour(_in_order(loose, ends, index), loose[index].entity.line))
        else:
            broken += [edge for i in sorted(group) for edge in loose[i].edges]
    return Chains(tuple(contours), leaves, junctions, tuple(broken))


def joint_of(point: Point) -> Point:
    """The point as it is compared with others."""
    return round(point[0], JOINT_DECIMALS) + 0.0, round(point[1], JOINT_DECIMALS) + 0.0


def _joints(piece: Piece) -> tuple[Point, Point]:
    return joint_of(piece.edges[0].start), joint_of(piece.edges[-1].end)


def _group(loose: Sequence[Piece], ends: dict[Point, list[int]], first: int) -> set[int]:
    """Every piece that hangs together with the first."""
    found, waiting = {first}, [first]
    while waiting:
        for joint in _joints(loose[waiting.pop()]):
            fresh = [i for i in ends[joint] if i not in found]
            found.update(fresh)
            waiting += fresh
    return found


def _in_order(loose: Sequence[Piece], ends: dict[Point, list[int]], first: int) -> tuple[Edge, ...]:
    """The edges of a closed group, one after the other, turned to run one way."""
    edges = list(loose[first].edges)
    start, here = _joints(loose[first])
    current = first
    while here != start:
        a, b = ends[here]
        current = b if a == current else a
        begin, end = _joints(loose[current])
        forward = begin == here
        edges += loose[current].edges if forward else [e.reversed() for e in reversed(loose[current].edges)]
        here = end if forward else begin
    # Ends that agree but for the rounding of the file become one point: no ray slips between them.
    return tuple(replace(edge, start=edges[i - 1].end) for i, edge in enumerate(edges))


def holders(contours: Sequence[DrawnContour], touching: set[tuple[int, int]]) -> list[list[int]]:
    """For each contour those that hold it; pairs that touch or cross count as side by side."""
    areas = [c.area_mm2 for c in contours]
    within: dict[int, list[int]] = defaultdict(list)
    for i, j in near_pairs([c.box for c in contours], 0.0):
        small, large = sorted((i, j), key=lambda k: areas[k])
        if (i, j) not in touching and box_round((contours[small].box, contours[large].box)) == contours[large].box:
            within[large].append(small)
    found: list[list[int]] = [[] for _ in contours]
    for large, others in within.items():
        chain, points = contours[large].true(), [plane.Point(*contours[k].edges[0].middle) for k in others]
        # A few are quicker asked one by one.
        held = map(chain.holds, points) if len(points) < _MANY else ChainSet([chain]).hold(points)[:, 0]
        for k in compress(others, held):
            found[k].append(large)
    return found
