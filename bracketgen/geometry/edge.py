"""Edges: straight and round, each from point to point, and what both answer alike."""

from __future__ import annotations

import math
from dataclasses import dataclass

from bracketgen.geometry.plane import Placement, Point, midpoint, polar

Box = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Line:
    """Straight from `start` to `end`, mm."""

    start: Point
    end: Point

    @property
    def length(self) -> float:
        """Length, mm."""
        return self.start.distance(self.end)

    @property
    def middle(self) -> Point:
        """Half way along."""
        return midpoint(self.start, self.end)

    def at(self, share: float) -> Point:
        """The point a `share` (0 to 1) of the way along."""
        return self.start.plus(self.end.minus(self.start), share)

    @property
    def bulge(self) -> float:
        """Tangent of a quarter of the included angle: 0 for a straight edge."""
        return 0.0

    def direction_at(self, _p: Point) -> Point:
        """Unit direction of travel."""
        return self.end.minus(self.start).unit()

    def area_term(self) -> float:
        """This edge's share of the enclosed area (Green's theorem), mm2."""
        return (self.start.x * self.end.y - self.end.x * self.start.y) / 2

    def bounds(self) -> Box:
        """x0, y0, x1, y1."""
        (ax, ay), (bx, by) = self.start, self.end
        return (min(ax, bx), min(ay, by), max(ax, bx), max(ay, by))

    def reversed(self) -> Line:
        """The same edge travelled backwards."""
        return Line(self.end, self.start)

    def moved(self, by: Placement) -> Line:
        """The edge after a rigid move."""
        return Line(by.point(self.start), by.point(self.end))

    def between(self, start: Point, end: Point) -> Line:
        """The part of this edge between two points on it."""
        return Line(start, end)

    def along(self, p: Point) -> float:
        """How far along the edge the point's foot lies, mm from the start."""
        return p.minus(self.start).dot(self.end.minus(self.start).unit())

    def nearest(self, p: Point) -> Point:
        """The edge's point closest to `p`."""
        d = self.end.minus(self.start)
        u = p.minus(self.start).dot(d) / d.dot(d)
        if u <= 0:
            return self.start
        return self.end if u >= 1 else self.start.plus(d, u)


# -- round edges

_TURN = 2 * math.pi
#: One nanoradian: far above noise, far below any sweep that matters.
_ANGLE_EPS = 1e-9


def sweep_between(centre: Point, start: Point, end: Point, turning: float) -> float:
    """Signed angle (rad) from `start` to `end` about `centre`, anticlockwise when `turning` > 0; never 0."""
    a, b = start.minus(centre), end.minus(centre)
    sweep = math.atan2(a.cross(b), a.dot(b))
    if turning > 0:
        return sweep if sweep > _ANGLE_EPS else sweep + _TURN
    return sweep if sweep < -_ANGLE_EPS else sweep - _TURN


@dataclass(frozen=True, slots=True)
class Arc:
    """Round `centre` from `start` to `end`; `sweep_rad` > 0 turns anticlockwise, |sweep| at most a half turn."""

    start: Point
    end: Point
    centre: Point
    radius: float
    sweep_rad: float

    @staticmethod
    def make(start: Point, end: Point, centre: Point, radius: float, turning: float) -> Arc:
        """The arc that turns anticlockwise (`turning` > 0) or clockwise from start to end."""
        return Arc(start, end, centre, radius, sweep_between(centre, start, end, turning))

    @property
    def length(self) -> float:
        """Length, mm."""
        return self.radius * abs(self.sweep_rad)

    @property
    def bulge(self) -> float:
        """Tangent of a quarter of the included angle, negative when clockwise (DXF Reference, group 42)."""
        return math.tan(self.sweep_rad / 4)

    @property
    def middle(self) -> Point:
        """Half way along."""
        return self.at(0.5)

    def at(self, share: float) -> Point:
        """The point a `share` (0 to 1) of the way along."""
        a = self.start.minus(self.centre)
        return self.centre.plus(polar(self.radius, math.atan2(a.y, a.x) + share * self.sweep_rad))

    def direction_at(self, p: Point) -> Point:
        """Unit direction of travel at a point of the arc."""
        out = p.minus(self.centre).unit()
        return out.left() if self.sweep_rad > 0 else out.left().scaled(-1.0)

    def area_term(self) -> float:
        """This edge's share of the enclosed area (Green's theorem), exact, mm2."""
        chord = (self.start.x * self.end.y - self.end.x * self.start.y) / 2
        return chord + self.radius**2 * (self.sweep_rad - math.sin(self.sweep_rad)) / 2

    def bounds(self) -> Box:
        """x0, y0, x1, y1 of the true arc."""
        xs, ys = [self.start.x, self.end.x], [self.start.y, self.end.y]
        (cx, cy), r = self.centre, self.radius
        for x, y in ((cx + r, cy), (cx, cy + r), (cx - r, cy), (cx, cy - r)):
            if self._on_own_side(x, y):
                xs.append(x)
                ys.append(y)
        return (min(xs), min(ys), max(xs), max(ys))

    def reversed(self) -> Arc:
        """The same edge travelled backwards."""
        return Arc(self.end, self.start, self.centre, self.radius, -self.sweep_rad)

    def moved(self, by: Placement) -> Arc:
        """The edge after a rigid move."""
        return Arc(by.point(self.start), by.point(self.end), by.point(self.centre), self.radius, self.sweep_rad)

    def between(self, start: Point, end: Point) -> Arc:
        """The part of this edge between two points on it."""
        return Arc.make(start, end, self.centre, self.radius, self.sweep_rad)

    def along(self, p: Point) -> float:
        """How far along the arc a point on its circle lies, mm from the start; just before it is negative."""
        a, b = self.start.minus(self.centre), p.minus(self.centre)
        angle = math.atan2(a.cross(b), a.dot(b)) * (1.0 if self.sweep_rad > 0 else -1.0)
        spare = (_TURN - abs(self.sweep_rad)) / 2
        return self.radius * (angle if angle >= -spare else angle + _TURN)

    def _on_own_side(self, x: float, y: float) -> bool:
        """Whether a point of the circle lies on the arc: the chord parts the circle into this arc and the other."""
        (ax, ay), (bx, by) = self.start, self.end
        cross = (bx - ax) * (y - ay) - (by - ay) * (x - ax)
        return cross <= 0 if self.sweep_rad > 0 else cross >= 0

    def holds(self, p: Point, slack_mm: float) -> bool:
        """Whether a point of the circle lies on the arc, within `slack_mm` of its ends."""
        return -slack_mm <= self.along(p) <= self.length + slack_mm

    def nearest(self, p: Point) -> Point:
        """The arc's point closest to `p`."""
        out = p.minus(self.centre)
        if out.length() > 0:
            foot = self.centre.plus(out.unit(), self.radius)
            if self._on_own_side(foot.x, foot.y):
                return foot
        return min(self.start, self.end, key=p.distance)
