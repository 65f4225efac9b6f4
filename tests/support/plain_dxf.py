"""A reader of cut files for the tests: group codes by hand, no library, nothing of the package."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

Vertex = tuple[float, float, float]


@dataclass
class PlainDxf:
    """Circles (x, y, radius) and closed polylines of (x, y, bulge), whatever their layer."""

    circles: list[tuple[float, float, float]] = field(default_factory=list)
    polylines: list[list[Vertex]] = field(default_factory=list)

    @property
    def outline(self) -> list[Vertex]:
        """The polyline of the greatest area."""
        return max(self.polylines, key=lambda p: abs(area(p)))


def read_plain(data: bytes) -> PlainDxf:
    """The entities of a cut file."""
    lines = data.decode("ascii").splitlines()
    tags = [(int(code), value.strip()) for code, value in zip(lines[::2], lines[1::2], strict=True)]
    start = next(i for i, tag in enumerate(tags) if tag == (2, "ENTITIES"))
    found = PlainDxf()
    entity: list[tuple[int, str]] = []
    for tag in tags[start + 1 :]:
        if tag[0] == 0:
            _take(entity, found)
            entity = []
            if tag[1] == "ENDSEC":
                break
        entity.append(tag)
    return found


def _take(entity: list[tuple[int, str]], found: PlainDxf) -> None:
    kind = entity[0][1] if entity else ""
    if kind == "CIRCLE":
        value = dict(entity)
        found.circles.append((float(value[10]), float(value[20]), float(value[40])))
    elif kind == "LWPOLYLINE":
        points: list[list[float]] = []
        for code, text in entity:
            if code == 10:
                points.append([float(text), 0.0, 0.0])
            elif code in (20, 42):
                points[-1][1 if code == 20 else 2] = float(text)
        found.polylines.append([(x, y, b) for x, y, b in points])


def area(points: list[Vertex]) -> float:
    """Signed area: the chords by the trapezoid rule, each arc's bow by radius and included angle."""
    total = 0.0
    for (ax, ay, bulge), (bx, by, _) in zip(points, points[1:] + points[:1], strict=True):
        total += (ax + bx) * (by - ay) / 2
        if bulge:
            angle = 4 * math.atan(bulge)
            radius = math.hypot(bx - ax, by - ay) / (2 * math.sin(abs(angle) / 2))
            total += radius**2 / 2 * (angle - math.sin(angle))
    return total


def perimeter(points: list[Vertex]) -> float:
    """Length along lines and arcs."""
    total = 0.0
    for (ax, ay, bulge), (bx, by, _) in zip(points, points[1:] + points[:1], strict=True):
        chord = math.hypot(bx - ax, by - ay)
        angle = abs(4 * math.atan(bulge))
        total += chord if not angle else chord / (2 * math.sin(angle / 2)) * angle
    return total
