"""Which contours of a file lie in which: outlines, openings, and what lies in openings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bracketgen.writers.readback.contours import Contour, InsideTest
from bracketgen.writers.readback.edges import Point
from bracketgen.writers.readback.near_boxes import near_pairs


@dataclass(frozen=True, slots=True)
class Nesting:
    """For each contour the smallest one around it (None for an outline), and how many are around it."""

    around: tuple[int | None, ...]
    depth: tuple[int, ...]

    def outline_of(self, index: int) -> int:
        """The outermost contour around one; itself for an outline."""
        outer = self.around[index]
        return index if outer is None else self.outline_of(outer)


def nesting(contours: Sequence[Contour], touching: set[tuple[int, int]]) -> Nesting:
    """How contours lie in each other; pairs that touch or cross have no answer and count as side by side."""
    areas = [c.area_mm2 for c in contours]
    tests: dict[int, InsideTest] = {}
    holders: list[list[int]] = [[] for _ in contours]
    for i, j in near_pairs([c.box for c in contours], 0.0):
        small, large = sorted((i, j), key=lambda k: areas[k])
        if (i, j) in touching or not _box_holds(contours[large], contours[small]):
            continue
        test = tests.setdefault(large, InsideTest(contours[large]))
        if test.holds(inner_point(contours[small])):
            holders[small].append(large)
    around = tuple(min(found, key=lambda k: areas[k]) if found else None for found in holders)
    return Nesting(around, tuple(len(found) for found in holders))


def inner_point(contour: Contour) -> Point:
    """A point of the contour itself."""
    return contour.edges[0].middle


def _box_holds(large: Contour, small: Contour) -> bool:
    a, b = large.box, small.box
    return a[0] <= b[0] and a[1] <= b[1] and a[2] >= b[2] and a[3] >= b[3]
