"""How far the lines of the new file lie from those of the old one, measured both ways."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from math import ceil, floor, fsum

from bracketgen.writers.readback.edges import Edge, Piece, Point

#: Points tried along an arc, besides its end.
_SAMPLES = 8
#: So many places along all lines together are enough to find the near ones quickly.
_MOST_PLACES = 300_000

#: An edge, and how far the curve that it was read from strays from it.
Strayed = tuple[Edge, float]


def moved_mm(old: Sequence[Piece], new: Sequence[Edge], reach_mm: float) -> float:
    """The greatest distance from points along the old lines to the new ones and back, mm, up to `reach_mm`.

    What a spline or an ellipse strays from the arcs that it was read as is added to its own lines.
    """
    before = [(edge, piece.deviation_mm) for piece in old for edge in piece.edges]
    after = [(edge, 0.0) for edge in new]
    return max(_farthest(before, _Near(after, reach_mm)), _farthest(after, _Near(before, reach_mm)))


def _farthest(these: Sequence[Strayed], near: _Near) -> float:
    return max((near.distance_mm(p) + extra for edge, extra in these for p in _along(edge)), default=0.0)


def _along(edge: Edge) -> Iterator[Point]:
    if edge.is_line:
        yield from (edge.start, edge.middle, edge.end)
        return
    for k in range(_SAMPLES + 1):
        yield edge.point_at(edge.start_rad + edge.sweep_rad * k / _SAMPLES)


class _Near:
    """Finds the distance to the nearest of many edges, by the squares of a grid that they run through."""

    def __init__(self, edges: Sequence[Strayed], reach_mm: float) -> None:
        self.edges = edges
        self.reach = reach_mm
        self.cell = max(reach_mm, fsum(e.length_mm for e, _ in edges) / _MOST_PLACES)
        self.at: dict[tuple[int, int], set[int]] = defaultdict(set)
        for index, (edge, _) in enumerate(edges):
            for point in self._places(edge):
                self.at[self._square(point)].add(index)

    def _places(self, edge: Edge) -> Iterator[Point]:
        """Points along the edge, no farther apart than a square is wide."""
        steps = max(1, ceil(edge.length_mm / self.cell))
        (x0, y0), (x1, y1) = edge.start, edge.end
        for k in range(steps + 1):
            share = k / steps
            if edge.is_line:
                yield x0 + share * (x1 - x0), y0 + share * (y1 - y0)
            else:
                yield edge.point_at(edge.start_rad + share * edge.sweep_rad)

    def _square(self, p: Point) -> tuple[int, int]:
        return floor(p[0] / self.cell), floor(p[1] / self.cell)

    def distance_mm(self, point: Point) -> float:
        """To the nearest edge, with what that one strays; the reach where there is none within it."""
        column, row = self._square(point)
        # An edge within reach has a place within one and a half squares: no farther than two squares off.
        around = {
            i for x in range(column - 2, column + 3) for y in range(row - 2, row + 3) for i in self.at.get((x, y), ())
        }
        found = (self.edges[i][0].distance_mm(point) + self.edges[i][1] for i in around)
        return min(self.reach, min(found, default=self.reach))
