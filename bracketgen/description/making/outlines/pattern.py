"""Where the holes of a pattern stand."""

from __future__ import annotations

import math
from dataclasses import dataclass

from bracketgen.description.model.holes import (
    CirclePattern,
    CornersPattern,
    GridPattern,
    HoleTable,
    PointsPattern,
    RowPattern,
)
from bracketgen.geometry.plane import Placement, Point, polar


@dataclass(frozen=True, slots=True)
class Spot:
    """One position of a pattern, and the direction (deg) from the pattern's middle to it."""

    at: Point
    outward_deg: float


def _row(p: RowPattern) -> list[Point]:
    step = polar(p.spacing, 0.0)
    turned = Placement.turned(p.direction)
    return [turned.point(step.scaled(float(i))) for i in range(p.count)]


def _grid(p: GridPattern) -> list[Point]:
    across, up = p.spacing
    return [Point(i * across, j * up) for j in range(p.rows) for i in range(p.columns)]


def _corners(p: CornersPattern) -> list[Point]:
    x, y = p.size[0] / 2, p.size[1] / 2
    return [Point(-x, -y), Point(x, -y), Point(x, y), Point(-x, y)]


def _circle(p: CirclePattern) -> list[Point]:
    closed = math.isclose(abs(p.over), 360.0)
    steps = p.count if closed else max(1, p.count - 1)
    arm = Point(p.diameter / 2, 0.0)
    return [Placement.turned(p.start + i * p.over / steps).point(arm) for i in range(p.count)]


def _spots(table: HoleTable) -> list[Point]:
    match table.pattern:
        case None:
            return [Point(0.0, 0.0)]
        case RowPattern() as p:
            return _row(p)
        case GridPattern() as p:
            return _grid(p)
        case CornersPattern() as p:
            return _corners(p)
        case CirclePattern() as p:
            return _circle(p)
        case PointsPattern() as p:
            return [Point(*xy) for xy in p.points]


def _mirrored(p: Point, how: str | None) -> Point:
    if how == "left-right":
        return Point(-p.x, p.y)
    return Point(p.x, -p.y) if how == "up-down" else p


def spots(table: HoleTable) -> list[Spot]:
    """Every position of the pattern in the panel's frame: mirrored first, then turned, then moved to `at`."""
    move = Placement.turned(table.turned, Point(*table.at))
    found = []
    for p in _spots(table):
        local = _mirrored(p, table.mirrored)
        outward = math.degrees(math.atan2(local.y, local.x)) if local != (0.0, 0.0) else 0.0
        found.append(Spot(move.point(local), outward + table.turned))
    return found
