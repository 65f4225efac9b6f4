"""Lines, arcs and circles of a file, by centre and angles, and where two of them lie on each other or meet."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from enum import StrEnum
from functools import lru_cache
from itertools import pairwise
from math import atan, atan2, ceil, copysign, cos, floor, hypot, pi, radians, sin, sqrt, tau

from bracketgen.files.group_codes import FileEntity, GroupCodeFault, GroupCodeFile

#: An arc that rises less than this over its chord is read as straight; its circle would be kilometres
#: wide, and say nothing exact about where the arc is.
_STRAIGHT_MM = 1e-6

Point = tuple[float, float]
Box = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Edge:
    """A line (radius 0), or an arc or full circle about `centre`; mm and radians.

    `sweep_rad` is the angle run from `start_rad`, positive counter-clockwise, a full turn for a circle.
    """

    start: Point
    end: Point
    centre: Point = (0.0, 0.0)
    radius_mm: float = 0.0
    start_rad: float = 0.0
    sweep_rad: float = 0.0
    box: Box = field(init=False)

    def __post_init__(self) -> None:
        # Asked for more often than anything else, so worked out once.
        object.__setattr__(self, "box", _box(self))

    @property
    def is_line(self) -> bool:
        """Whether it is straight."""
        return self.radius_mm == 0.0

    @property
    def is_circle(self) -> bool:
        """Whether it is a full circle."""
        return self.radius_mm > 0.0 and abs(self.sweep_rad) == tau

    @property
    def length_mm(self) -> float:
        """Length along the edge."""
        if self.is_line:
            return hypot(self.end[0] - self.start[0], self.end[1] - self.start[1])
        return self.radius_mm * abs(self.sweep_rad)

    @property
    def area_share_mm2(self) -> float:
        """Half the integral of x dy - y dx: the sum round a contour is its area (Green's theorem)."""
        (x0, y0), (x1, y1) = self.start, self.end
        polygon = 0.5 * (x0 * y1 - x1 * y0)
        if self.is_line:
            return polygon
        return polygon + 0.5 * self.radius_mm**2 * (self.sweep_rad - sin(self.sweep_rad))

    def point_at(self, angle_rad: float) -> Point:
        """The point of an arc's circle in a direction from its centre."""
        x, y = self.centre
        return x + self.radius_mm * cos(angle_rad), y + self.radius_mm * sin(angle_rad)

    @property
    def middle(self) -> Point:
        """The point half-way along."""
        if self.is_line:
            return 0.5 * (self.start[0] + self.end[0]), 0.5 * (self.start[1] + self.end[1])
        return self.point_at(self.start_rad + 0.5 * self.sweep_rad)

    def halves(self) -> tuple[Edge, Edge]:
        """An arc or circle as two arcs of half the sweep."""
        half, middle = 0.5 * self.sweep_rad, self.middle
        return (
            Edge(self.start, middle, self.centre, self.radius_mm, self.start_rad, half),
            Edge(middle, self.end, self.centre, self.radius_mm, self.start_rad + half, half),
        )

    def distance_mm(self, point: Point) -> float:
        """From a point to the nearest point of the edge."""
        if self.is_line:
            return _segment_distance(self.start, self.end, point)
        angle = atan2(point[1] - self.centre[1], point[0] - self.centre[0])
        ahead = (angle - self.start_rad) % tau if self.sweep_rad > 0.0 else (self.start_rad - angle) % tau
        if ahead <= abs(self.sweep_rad):
            return abs(hypot(point[0] - self.centre[0], point[1] - self.centre[1]) - self.radius_mm)
        return min(hypot(point[0] - x, point[1] - y) for x, y in (self.start, self.end))

    def reversed(self) -> Edge:
        """The same edge run backwards."""
        turned = self.start_rad + self.sweep_rad
        return Edge(self.end, self.start, self.centre, self.radius_mm, turned, -self.sweep_rad)


def _segment_distance(start: Point, end: Point, point: Point) -> float:
    dx, dy = end[0] - start[0], end[1] - start[1]
    squared = dx * dx + dy * dy
    along = ((point[0] - start[0]) * dx + (point[1] - start[1]) * dy) / squared if squared else 0.0
    along = min(1.0, max(0.0, along))
    return hypot(point[0] - start[0] - along * dx, point[1] - start[1] - along * dy)


def _box(edge: Edge) -> Box:
    points = [edge.start, edge.end]
    if edge.radius_mm:
        first, last = sorted((edge.start_rad, edge.start_rad + edge.sweep_rad))
        quarters = range(ceil(first / (0.5 * pi)), floor(last / (0.5 * pi)) + 1)
        points += [edge.point_at(0.5 * pi * quarter) for quarter in quarters]
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return min(xs), min(ys), max(xs), max(ys)


def circle(centre: Point, radius_mm: float) -> Edge:
    """A full circle of a radius above 0, counter-clockwise from its right-most point."""
    start = (centre[0] + radius_mm, centre[1])
    return Edge(start, start, centre, radius_mm, 0.0, tau)


def bulged(start: Point, end: Point, bulge: float) -> Edge:
    """The edge between two polyline vertices: bulge = tan(sweep / 4), DXF Reference, group 42."""
    chord = hypot(end[0] - start[0], end[1] - start[1])
    if 0.5 * chord * abs(bulge) < _STRAIGHT_MM:
        return Edge(start, end)
    sweep = 4.0 * atan(bulge)
    radius = 0.5 * chord / abs(sin(0.5 * sweep))
    # The centre lies on the chord's perpendicular bisector: to its left for a left turn under a half circle.
    # The cosine turns negative by itself beyond the half circle.
    side = radius * cos(0.5 * sweep) * copysign(1.0, bulge)
    ux, uy = (end[0] - start[0]) / chord, (end[1] - start[1]) / chord
    x, y = 0.5 * (start[0] + end[0]) - side * uy, 0.5 * (start[1] + end[1]) + side * ux
    return Edge(start, end, (x, y), radius, atan2(start[1] - y, start[0] - x), sweep)


def short_arcs(edge: Edge) -> list[Edge]:
    """The edge, or its halves where it is near a half circle and more."""
    if edge.is_line or abs(edge.sweep_rad) <= 0.95 * pi:
        return [edge]
    return [part for half in edge.halves() for part in short_arcs(half)]


def turn_rad(one: Edge, two: Edge) -> float:
    """The angle from the chord of one edge to that of the next, counter-clockwise positive."""
    before = atan2(one.end[1] - one.start[1], one.end[0] - one.start[0])
    after = atan2(two.end[1] - two.start[1], two.end[0] - two.start[0])
    return (after - before + pi) % tau - pi


def _radius(entity: FileEntity) -> float:
    radius = entity.number(40)
    if radius <= 0.0:
        raise GroupCodeFault(entity.line, f"{entity.kind} of radius {radius} mm")
    return radius


def _arc(entity: FileEntity) -> Edge:
    centre, radius = (entity.number(10), entity.number(20)), _radius(entity)
    first, last = radians(entity.number(50)), radians(entity.number(51))
    sweep = (last - first) % tau or tau
    start = (centre[0] + radius * cos(first), centre[1] + radius * sin(first))
    end = (centre[0] + radius * cos(last), centre[1] + radius * sin(last))
    return Edge(start, end, centre, radius, first, sweep)


@dataclass(frozen=True, slots=True)
class Piece:
    """What one entity of the file draws: its edges in order, and what its polyline flags say.

    `flag_closed`: closed flag set. `repeats_first`: the last vertex stands on the first.
    `bulges`: the polyline's group 42 values. `deviation_mm`: how far the edges stray from what the entity draws,
    which is more than 0 only for a spline, an ellipse or a stretched arc.
    """

    entity: FileEntity
    edges: tuple[Edge, ...]
    flag_closed: bool = False
    repeats_first: bool = False
    bulges: tuple[float, ...] = ()
    deviation_mm: float = 0.0

    @property
    def closes(self) -> bool:
        """Whether it is a contour by itself."""
        return self.flag_closed or self.repeats_first or (len(self.edges) == 1 and self.edges[0].is_circle)


def polyline_vertices(entity: FileEntity) -> tuple[tuple[float, float, float], ...]:
    """The vertices (x, y, bulge) of an LWPOLYLINE."""
    vertices: list[tuple[float, float, float]] = []
    for tag in entity.tags:
        if tag.code == 10:
            vertices.append((tag.number, 0.0, 0.0))
        elif tag.code in (20, 42) and vertices:
            x, y, bulge = vertices[-1]
            vertices[-1] = (x, tag.number, bulge) if tag.code == 20 else (x, y, tag.number)
    return tuple(vertices)


# The lint and the comparison look at the same file one after the other.
@lru_cache(maxsize=1)
def pieces_in(file: GroupCodeFile) -> tuple[Piece, ...]:
    """What the whole file draws, blocks left out. GroupCodeFault when an entity is broken."""
    return tuple(pieces_of(file.entities))


def pieces_of(entities: tuple[FileEntity, ...]) -> Iterator[Piece]:
    """Every entity that draws lines, arcs and circles; others are passed over. GroupCodeFault when broken."""
    queue = iter(entities)
    for entity in queue:
        if entity.kind == "CIRCLE":
            yield Piece(entity, (circle((entity.number(10), entity.number(20)), _radius(entity)),))
        elif entity.kind == "LINE":
            ends = (entity.number(10), entity.number(20)), (entity.number(11), entity.number(21))
            yield Piece(entity, (Edge(*ends),))
        elif entity.kind == "ARC":
            yield Piece(entity, (_arc(entity),))
        elif entity.kind == "LWPOLYLINE":
            yield _polyline(entity, polyline_vertices(entity))
        elif entity.kind == "POLYLINE":
            vertices = []
            for follower in queue:
                if follower.kind != "VERTEX":
                    break
                vertices.append((follower.number(10), follower.number(20), follower.number(42, 0.0)))
            yield _polyline(entity, tuple(vertices))


def _polyline(entity: FileEntity, vertices: tuple[tuple[float, float, float], ...]) -> Piece:
    if len(vertices) < 2:
        raise GroupCodeFault(entity.line, f"{entity.kind} with fewer than two vertices")
    closed = entity.whole(70, 0) % 2 == 1
    repeats = len(vertices) > 2 and vertices[0][:2] == vertices[-1][:2]
    bulges = tuple(v[2] for v in vertices)
    ring = vertices[:-1] if repeats else vertices
    pairs = list(pairwise(ring))
    if closed or repeats:
        pairs.append((ring[-1], ring[0]))
    edges = tuple(bulged(p[:2], q[:2], p[2]) for p, q in pairs)
    return Piece(entity, edges, closed, repeats, bulges)


# -- where two edges lie on each other or meet

#: Lines and circles nearer than this are the same line to a cutting machine (common practice, no source).
SAME_LINE_MM = 1e-5


class EdgeOverlap(StrEnum):
    """How two edges lie on each other."""

    NONE = "none"
    PART = "part"
    WHOLE = "whole"


def overlap(one: Edge, two: Edge) -> EdgeOverlap:
    """Whether two edges share more than single points; the way they run does not matter."""
    if one.is_line != two.is_line:
        return EdgeOverlap.NONE
    return _line_overlap(one, two) if one.is_line else _arc_overlap(one, two)


def _line_overlap(one: Edge, two: Edge) -> EdgeOverlap:
    if one.length_mm < two.length_mm:
        one, two = two, one
    length = one.length_mm
    if length <= SAME_LINE_MM:
        return EdgeOverlap.NONE
    (x0, y0), (x1, y1) = one.start, one.end
    ux, uy = (x1 - x0) / length, (y1 - y0) / length
    places = []
    for x, y in (two.start, two.end):
        if abs(ux * (y - y0) - uy * (x - x0)) > SAME_LINE_MM:
            return EdgeOverlap.NONE
        places.append(ux * (x - x0) + uy * (y - y0))
    first, last = sorted(places)
    if min(last, length) - max(first, 0.0) <= SAME_LINE_MM:
        return EdgeOverlap.NONE
    whole = abs(first) <= SAME_LINE_MM and abs(last - length) <= SAME_LINE_MM
    return EdgeOverlap.WHOLE if whole else EdgeOverlap.PART


def _arc_overlap(one: Edge, two: Edge) -> EdgeOverlap:
    (x0, y0), (x1, y1) = one.centre, two.centre
    if hypot(x1 - x0, y1 - y0) > SAME_LINE_MM or abs(one.radius_mm - two.radius_mm) > SAME_LINE_MM:
        return EdgeOverlap.NONE
    if one.is_circle and two.is_circle:
        return EdgeOverlap.WHOLE
    slack = SAME_LINE_MM / one.radius_mm
    (start, sweep), (other_start, other_sweep) = _left_turning(one), _left_turning(two)
    ahead = (other_start - start) % tau
    if min(ahead, tau - ahead) <= slack and abs(sweep - other_sweep) <= slack:
        return EdgeOverlap.WHOLE
    shared = max(0.0, min(sweep, ahead + other_sweep) - ahead) + max(0.0, ahead + other_sweep - tau)
    return EdgeOverlap.PART if shared > slack else EdgeOverlap.NONE


def _left_turning(arc: Edge) -> tuple[float, float]:
    """Start and sweep of an arc run counter-clockwise."""
    if arc.sweep_rad >= 0.0:
        return arc.start_rad, arc.sweep_rad
    return arc.start_rad + arc.sweep_rad, -arc.sweep_rad


def meeting_points(one: Edge, two: Edge) -> list[Point]:
    """Every point that two edges share, touching ones included; none for edges on the same line or circle."""
    found = carrier_points(one, two)
    if one.is_line and two.is_line:
        # A line that ends just short on the other touches it all the same.
        pairs = [(p, other) for edge, other in ((one, two), (two, one)) for p in (edge.start, edge.end)]
        found = [p for p, other in pairs if other.distance_mm(p) <= SAME_LINE_MM] or found
    return [p for p in found if max(one.distance_mm(p), two.distance_mm(p)) <= SAME_LINE_MM]


def carrier_points(one: Edge, two: Edge) -> list[Point]:
    """Every point that the whole lines or circles of two edges share, wherever the edges end; none for parallels."""
    if one.is_line and two.is_line:
        return _line_line(one, two)
    if one.is_line or two.is_line:
        line, arc = (one, two) if one.is_line else (two, one)
        return _line_circle(line, arc)
    return _circle_circle(one, two)


def _line_line(one: Edge, two: Edge) -> list[Point]:
    (x0, y0), (x1, y1) = one.start, one.end
    (u0, v0), (u1, v1) = two.start, two.end
    ax, ay, bx, by = x1 - x0, y1 - y0, u1 - u0, v1 - v0
    cross = ax * by - ay * bx
    if abs(cross) <= 1e-12 * one.length_mm * two.length_mm:
        return []
    t = ((u0 - x0) * by - (v0 - y0) * bx) / cross
    return [(x0 + t * ax, y0 + t * ay)]


def _line_circle(line: Edge, arc: Edge) -> list[Point]:
    length = line.length_mm
    if length == 0.0:
        return []
    (x0, y0), (x1, y1), (cx, cy) = line.start, line.end, arc.centre
    ux, uy = (x1 - x0) / length, (y1 - y0) / length
    along = ux * (cx - x0) + uy * (cy - y0)
    foot = (x0 + along * ux, y0 + along * uy)
    aside = hypot(cx - foot[0], cy - foot[1])
    if aside > arc.radius_mm + SAME_LINE_MM:
        return []
    half = sqrt(max(0.0, arc.radius_mm**2 - aside**2))
    return [(foot[0] + k * ux, foot[1] + k * uy) for k in ((-half, half) if half else (0.0,))]


def _circle_circle(one: Edge, two: Edge) -> list[Point]:
    (x0, y0), (x1, y1) = one.centre, two.centre
    r0, r1 = one.radius_mm, two.radius_mm
    apart = hypot(x1 - x0, y1 - y0)
    if apart <= SAME_LINE_MM or apart > r0 + r1 + SAME_LINE_MM or apart < abs(r0 - r1) - SAME_LINE_MM:
        return []
    along = (apart**2 + r0**2 - r1**2) / (2.0 * apart)
    aside = sqrt(max(0.0, r0**2 - along**2))
    ux, uy = (x1 - x0) / apart, (y1 - y0) / apart
    foot = (x0 + along * ux, y0 + along * uy)
    return [(foot[0] - k * uy, foot[1] + k * ux) for k in ((-aside, aside) if aside else (0.0,))]
