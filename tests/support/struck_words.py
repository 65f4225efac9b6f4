"""Lines that run through the letters of a label: what a person at a bench could not read."""

from __future__ import annotations

from itertools import pairwise

from bracketgen.drawing.sheet import Label, Sheet, Stroke, TextDirection
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point

#: Height of capitals over the letter size, and what a line may come in at a label's ends, mm.
_CAPITALS = 0.72
_SPARE_MM = 0.15


def letters(label: Label) -> Box:
    """Paper that capitals and figures of a label cover, a hair less on every side."""
    x0, y0, x1, y1 = label.box
    x, y = label.at
    if label.reading is TextDirection.LEVEL:
        return (x0 + _SPARE_MM, y + _SPARE_MM, x1 - _SPARE_MM, y + _CAPITALS * label.size_mm - _SPARE_MM)
    return (x - _CAPITALS * label.size_mm + _SPARE_MM, y0 + _SPARE_MM, x - _SPARE_MM, y1 - _SPARE_MM)


def struck(sheet: Sheet) -> list[tuple[str, str]]:
    """Text of every label with what the line through it shows, sorted."""
    boxes = [(m.text, letters(m)) for m in sheet.labels]
    found: set[tuple[str, str]] = set()
    for stroke in (m for m in sheet.marks if isinstance(m, Stroke)):
        xs, ys = [p.x for p in stroke.points], [p.y for p in stroke.points]
        for text, box in boxes:
            near = max(xs) > box[0] and min(xs) < box[2] and max(ys) > box[1] and min(ys) < box[3]
            if near and any(enters(a, b, box) for a, b in pairwise(stroke.points)):
                found.add((text, stroke.shows))
    return sorted(found)


def enters(a: Point, b: Point, box: Box) -> bool:
    """Whether a straight line has a point inside a box (Liang and Barsky's clipping, from memory)."""
    first, last = 0.0, 1.0
    for start, way, low, high in ((a.x, b.x - a.x, box[0], box[2]), (a.y, b.y - a.y, box[1], box[3])):
        if abs(way) < 1e-12:
            if not low < start < high:
                return False
            continue
        ends = sorted(((low - start) / way, (high - start) / way))
        first, last = max(first, ends[0]), min(last, ends[1])
    return first < last
