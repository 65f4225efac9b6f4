"""Moving, turning, mirroring and stretching the edges of a file: what INSERT, extrusion and units do to them."""

from __future__ import annotations

from dataclasses import dataclass
from math import atan2, copysign, cos, radians, sin, sqrt, tau

from bracketgen.writers.readback.curves import Curve, arcs_along
from bracketgen.writers.readback.edges import Edge, Point

#: Scales and angles that differ by less than this part keep circles round.
_ALIKE = 1e-9


@dataclass(frozen=True, slots=True)
class PlaneMap:
    """x becomes xx * x + xy * y + x0, y becomes yx * x + yy * y + y0; as it is left out, nothing changes."""

    xx: float = 1.0
    xy: float = 0.0
    yx: float = 0.0
    yy: float = 1.0
    x0: float = 0.0
    y0: float = 0.0

    @staticmethod
    def shifted(x: float, y: float) -> PlaneMap:
        """A plain shift."""
        return PlaneMap(x0=x, y0=y)

    @staticmethod
    def scaled(x: float, y: float) -> PlaneMap:
        """Each direction times its own factor; a negative one mirrors."""
        return PlaneMap(xx=x, yy=y)

    @staticmethod
    def turned(angle_deg: float) -> PlaneMap:
        """Turned counter-clockwise about the origin."""
        c, s = cos(radians(angle_deg)), sin(radians(angle_deg))
        return PlaneMap(c, -s, s, c)

    def then(self, later: PlaneMap) -> PlaneMap:
        """This one first, `later` after it."""
        x0, y0 = later.point((self.x0, self.y0))
        return PlaneMap(
            later.xx * self.xx + later.xy * self.yx,
            later.xx * self.xy + later.xy * self.yy,
            later.yx * self.xx + later.yy * self.yx,
            later.yx * self.xy + later.yy * self.yy,
            x0,
            y0,
        )

    def point(self, p: Point) -> Point:
        """Where a point goes."""
        return self.xx * p[0] + self.xy * p[1] + self.x0, self.yx * p[0] + self.yy * p[1] + self.y0

    @property
    def determinant(self) -> float:
        """How many times larger areas become; below 0 when mirrored."""
        return self.xx * self.yy - self.xy * self.yx

    @property
    def keeps_circles(self) -> bool:
        """Whether a circle stays one."""
        size = abs(self.xx) + abs(self.xy) + abs(self.yx) + abs(self.yy)
        sign = copysign(1.0, self.determinant)
        return abs(self.xx - sign * self.yy) + abs(self.xy + sign * self.yx) <= _ALIKE * size

    def edges(self, edge: Edge) -> tuple[tuple[Edge, ...], float]:
        """The edge where it goes, and how far what is made strays from the true curve (0 but for a stretched arc)."""
        if self == PlaneMap():
            return (edge,), 0.0
        if edge.is_line:
            return (Edge(self.point(edge.start), self.point(edge.end)),), 0.0
        if not self.keeps_circles:
            return arcs_along(_stretched(edge, self))
        return (self._arc(edge),), 0.0

    def _arc(self, edge: Edge) -> Edge:
        centre, start, end = self.point(edge.centre), self.point(edge.start), self.point(edge.end)
        determinant = self.determinant
        radius = edge.radius_mm * sqrt(abs(determinant))
        first = atan2(start[1] - centre[1], start[0] - centre[0])
        return Edge(start, end, centre, radius, first, copysign(1.0, determinant) * edge.sweep_rad)


def _stretched(edge: Edge, by: PlaneMap) -> Curve:
    whole = abs(edge.sweep_rad) == tau

    def point(share: float) -> Point:
        if share in (0.0, 1.0) and not whole:
            return by.point(edge.end if share else edge.start)
        return by.point(edge.point_at(edge.start_rad + (share % 1.0 if whole else share) * edge.sweep_rad))

    return Curve(point, (0.0, 0.25, 0.5, 0.75, 1.0))
