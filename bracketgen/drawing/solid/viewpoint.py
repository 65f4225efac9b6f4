"""From where solids are seen, how space falls on the paper, and how a surface lies to the light."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from bracketgen.drawing.sheet import Colour, shaded
from bracketgen.geometry.arrays import Floats
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point
from bracketgen.geometry.space import Vector, dot

#: Where the light comes from on the paper: left, above, from the eye.
_LIGHT: Final = (-0.30, 0.52, 0.80)


@dataclass(frozen=True, slots=True)
class Viewpoint:
    """Unit directions in the part's frame: right and up on the paper, and toward the eye. Parallel projection."""

    right: Vector
    up: Vector
    toward: Vector

    @staticmethod
    def at(round_deg: float, rise_deg: float) -> Viewpoint:
        """The eye `rise_deg` above the x-y plane, turned `round_deg` anticlockwise from the -y side."""
        a, e = math.radians(round_deg), math.radians(rise_deg)
        right = (math.cos(a), math.sin(a), 0.0)
        away = (-math.sin(a), math.cos(a))
        up = (away[0] * math.sin(e), away[1] * math.sin(e), math.cos(e))
        return Viewpoint(right, up, (-away[0] * math.cos(e), -away[1] * math.cos(e), math.sin(e)))

    def flat(self, v: Vector) -> Point:
        """Where a point falls, at the part's own size."""
        return Point(dot(v, self.right), dot(v, self.up))

    def seen(self, points: npt.ArrayLike) -> Floats:
        """Points in space as (right, up, toward the eye): the last is larger the nearer to the eye, mm."""
        made: Floats = (
            np.asarray(points, dtype=np.float64).reshape(-1, 3) @ np.array((self.right, self.up, self.toward)).T
        )
        return made


ABOVE: Final = Viewpoint((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
FRONT: Final = Viewpoint((1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, -1.0, 0.0))
RIGHT: Final = Viewpoint((0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0))


@dataclass(frozen=True, slots=True)
class Window:
    """How a view falls on the paper: its eye, scale, shift, and the paper it may use."""

    view: Viewpoint
    scale: float
    shift: Point
    area: Box

    @staticmethod
    def around(core: npt.ArrayLike, view: Viewpoint, area: Box, most_scale: float, share: float = 1.0) -> Window:
        """The largest window that shows all points of `core` in the middle of the area, on a share of each side."""
        xyz = view.seen(core)
        (x0, y0, _), (x1, y1, _) = xyz.min(axis=0).tolist(), xyz.max(axis=0).tolist()
        wide, high = area[2] - area[0], area[3] - area[1]
        scale = min(most_scale, share * wide / (x1 - x0), share * high / (y1 - y0))
        centre = Point((area[0] + area[2]) / 2, (area[1] + area[3]) / 2)
        return Window(view, scale, centre.minus(Point((x0 + x1) / 2, (y0 + y1) / 2).scaled(scale)), area)

    def point(self, v: Vector) -> Point:
        """Where a point in space comes to lie."""
        return self.view.flat(v).scaled(self.scale).plus(self.shift)

    def ring(self, points: Floats) -> tuple[Point, ...]:
        """Where points in space, (n, 3), come to lie."""
        xy = self.view.seen(points)[:, :2] * self.scale + self.shift
        return tuple(Point(x, y) for x, y in xy.tolist())

    def planes(self) -> list[tuple[Vector, float]]:
        """What lies above all these planes (normal, offset) falls within the area."""
        made: list[tuple[Vector, float]] = []
        for axis, way in enumerate((self.view.right, self.view.up)):
            low, high = ((self.area[axis + k] - self.shift[axis]) / self.scale for k in (0, 2))
            made += [(way, low), ((-way[0], -way[1], -way[2]), -high)]
        return made


def lit(colour: Colour, out: Vector, view: Viewpoint) -> Colour:
    """The colour of a surface whose unit normal is `out`: brighter or darker as it lies to the light."""
    light = dot(out, view.right) * _LIGHT[0] + dot(out, view.up) * _LIGHT[1] + dot(out, view.toward) * _LIGHT[2]
    return shaded(colour, 0.76 + 0.26 * max(0.0, light))
