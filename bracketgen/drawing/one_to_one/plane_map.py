"""From the flat to the paper of a template, seen on either face, and corrected for a printer that is off."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from bracketgen.drawing.paper.trace import edge_points, ring_points
from bracketgen.geometry.contour import Cut, Edge
from bracketgen.geometry.edge import Box, Line
from bracketgen.geometry.plane import Point

#: How far a chord may stray from its arc, mm: a third of the 0.01 mm that a template promises.
CHORD_MM = 0.003


class Face(StrEnum):
    """Which face of the flat looks at the reader; the back is the described face's other side."""

    DESCRIBED = "described"
    BACK = "back"


@dataclass(frozen=True, slots=True)
class PlaneMap:
    """Puts `corner` (x right, y up as the reader sees the face) to `at` on the paper, `per_mm` of paper a mm."""

    face: Face
    corner: Point
    at: Point
    per_mm: tuple[float, float]

    def point(self, p: Point) -> Point:
        """Where a point of the flat comes to lie on the paper."""
        seen = seen_from(self.face, p).minus(self.corner)
        return Point(self.at.x + seen.x * self.per_mm[0], self.at.y + seen.y * self.per_mm[1])

    def ring(self, cut: Cut) -> tuple[Point, ...]:
        """A closed chain on the paper, its first point again at the end."""
        points = [self.point(p) for p in ring_points(cut, CHORD_MM)]
        return (*points, points[0])

    def edge(self, edge: Edge) -> tuple[Point, ...]:
        """An edge on the paper, from end to end."""
        return tuple(map(self.point, (*edge_points(edge, CHORD_MM), edge.end)))

    def box(self, box: Box) -> Box:
        """The box on the paper around a box of the flat."""
        a, b = self.point(Point(box[0], box[1])), self.point(Point(box[2], box[3]))
        return (min(a.x, b.x), min(a.y, b.y), max(a.x, b.x), max(a.y, b.y))

    def line(self, line: Line) -> tuple[Point, Point]:
        """A straight line's ends on the paper."""
        return self.point(line.start), self.point(line.end)


def seen_from(face: Face, p: Point) -> Point:
    """A point of the flat as it lies before a reader of this face: the back is turned over about the y axis."""
    return p if face is Face.DESCRIBED else Point(-p.x, p.y)


def seen_box(face: Face, box: Box) -> Box:
    """A box of the flat as it lies before a reader of this face."""
    return box if face is Face.DESCRIBED else (-box[2], box[1], -box[0], box[3])
