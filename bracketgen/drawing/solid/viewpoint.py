"""From where the folded part is seen, and how space falls on the paper."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from bracketgen.drawing.solid.hiding import Plane, Seen
from bracketgen.geometry.frame import Vector
from bracketgen.geometry.line import Box
from bracketgen.geometry.point import Point

#: How high the eye stands above the first panel's described face, degrees; the first is preferred.
_RISE_DEG: Final = (33.0, 48.0)
#: Where the eye stands around it: 0 = behind -y; the first is preferred when others are hardly better.
_ROUND_DEG: Final = (-32.0, 32.0, -58.0, 58.0, -122.0, 122.0, -148.0, 148.0)
_HARDLY: Final = 1.12


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

    def depth(self, v: Vector) -> float:
        """How near to the eye a point is: larger is nearer."""
        return dot(v, self.toward)


def dot(a: Vector, b: Vector) -> float:
    """Scalar product."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


@dataclass(frozen=True, slots=True)
class Scene:
    """What the choice of a viewpoint needs: middle planes of the panels, the first one foremost."""

    rings: tuple[tuple[Vector, ...], ...]
    normals: tuple[Vector, ...]


def best_viewpoint(scene: Scene, room: Box) -> Viewpoint:
    """The viewpoint that shows most of the panels, the first panel counting double, large enough in `room`."""
    views = [Viewpoint.at(a, e) for e in _RISE_DEG for a in _ROUND_DEG]
    marks = [_worth(scene, v, room) for v in views]
    best = max(marks)
    return next(v for v, m in zip(views, marks, strict=True) if m * _HARDLY >= best)


def _worth(scene: Scene, view: Viewpoint, room: Box) -> float:
    seen = [seen_of(ring, view) for ring in scene.rings]
    total = 0.0
    for i, (own, normal) in enumerate(zip(seen, scene.normals, strict=True)):
        hidden = own.hidden_share([s for k, s in enumerate(seen) if k != i])
        total += (2.0 if i == 0 else 1.0) * (1.0 - hidden) * (0.25 + abs(dot(normal, view.toward)))
    return total * math.sqrt(fit_scale([p for s in seen for p in s.ring], room))


def seen_of(ring: Sequence[Vector], view: Viewpoint) -> Seen:
    """A flat ring in space as it is seen."""
    points = tuple(view.flat(v) for v in ring)
    return Seen(points, Plane.through(points, [view.depth(v) for v in ring]))


def fit_scale(points: Sequence[Point], room: Box) -> float:
    """The scale at which the points just fill the room."""
    xs, ys = [p.x for p in points], [p.y for p in points]
    return min((room[2] - room[0]) / (max(xs) - min(xs)), (room[3] - room[1]) / (max(ys) - min(ys)))
