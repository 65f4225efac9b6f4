"""Contours of a file: what closes by itself, and what loose lines and arcs make end to end."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from math import floor, fsum
from typing import Final

from bracketgen.files.edges import Box, Edge, Piece, Point
from bracketgen.geometry.gap import near_pairs as pairs_near

#: Decimals (mm) to which two ends must agree to count as joined: a gap of 2 µm is a gap.
JOINT_DECIMALS = 6
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


class InsideTest:
    """Tells whether points lie within one contour; edges are sorted into bands of y, so a look is quick."""

    def __init__(self, contour: DrawnContour) -> None:
        edges = [half for edge in contour.edges for half in (edge.halves() if edge.radius_mm else (edge,))]
        self._low = contour.box[1]
        self._band = max((contour.box[3] - self._low) / len(edges), 1e-9)
        self._bands: dict[int, list[Edge]] = defaultdict(list)
        for edge in edges:
            for band in range(self._band_of(edge.box[1]), self._band_of(edge.box[3]) + 1):
                self._bands[band].append(edge)

    def _band_of(self, y: float) -> int:
        return floor((y - self._low) / self._band)

    def holds(self, point: Point) -> bool:
        """Whether a point off the contour lies within it."""
        edges = self._bands.get(self._band_of(point[1]), ())
        return sum(_chord_passes(e, point) + _in_bow(e, point) for e in edges) % 2 == 1


def _chord_passes(edge: Edge, point: Point) -> bool:
    """Whether a ray from the point to the right passes the straight line between the edge's ends."""
    y0, y1 = edge.start[1], edge.end[1]
    return (y0 > point[1]) != (y1 > point[1]) and (_side(edge, point) > 0.0) == (y1 > y0)


def _in_bow(edge: Edge, point: Point) -> bool:
    """Whether the point lies between an arc of at most a half circle and its chord."""
    if edge.is_line:
        return False
    dx, dy = point[0] - edge.centre[0], point[1] - edge.centre[1]
    if dx * dx + dy * dy >= edge.radius_mm**2:
        return False
    return _side(edge, point) * edge.sweep_rad < 0.0


def _side(edge: Edge, point: Point) -> float:
    """Above 0 to the left of the line from start to end, below 0 to its right.

    A point on the line counts as a hair to the right of where it is, and a hair's hair higher,
    so that it lies on one side only of the two chords of a circle.
    """
    (x0, y0), (x1, y1) = edge.start, edge.end
    return (x1 - x0) * (point[1] - y0) - (y1 - y0) * (point[0] - x0) or y0 - y1 or x1 - x0
