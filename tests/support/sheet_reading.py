"""What stands on a sheet of plain drawing calls, and what lies on each other or leaves the page."""

from __future__ import annotations

import itertools

from bracketgen.drawing.sheet import Fill, Sheet
from bracketgen.geometry.plane import Point


def overlaps(sheet: Sheet) -> list[tuple[str, str]]:
    """Pairs of labels or finding discs whose boxes share more than a hair (0.05 mm) of paper."""
    boxes = [(m.text, m.shows, m.box) for m in sheet.labels]
    for m in sheet.marks:
        if isinstance(m, Fill) and m.shows.startswith("finding"):
            xs, ys = [p.x for p in m.rings[0]], [p.y for p in m.rings[0]]
            boxes.append(("disc of " + m.shows, m.shows, (min(xs), min(ys), max(xs), max(ys))))
    found = []
    for (a, of_a, p), (b, of_b, q) in itertools.combinations(boxes, 2):
        wide = min(p[2], q[2]) - max(p[0], q[0])
        high = min(p[3], q[3]) - max(p[1], q[1])
        own_number = of_a == of_b and (a.isdigit() or b.isdigit())
        if wide > 0.05 and high > 0.05 and not own_number:
            found.append((a, b))
    return found


def outside(sheet: Sheet) -> list[str]:
    """Labels that leave the page."""
    return [
        label.text
        for label in sheet.labels
        for x0, y0, x1, y1 in [label.box]
        if x0 < 0.0 or y0 < 0.0 or x1 > sheet.width_mm or y1 > sheet.height_mm
    ]


def texts(sheet: Sheet) -> str:
    return "\n".join(label.text for label in sheet.labels)


def middle(points: tuple[Point, ...]) -> Point:
    """Centre of the box around points."""
    xs, ys = [p.x for p in points], [p.y for p in points]
    return Point((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)
