"""Where a bend's strip meets its two panels: the stretches that they share, and those that stand free.

As a rule a panel and the strip meet along the whole tangent line. Where the relief of another bend takes a piece of
the panel away, the strip overhangs there; where a panel is wider than the strip, the panel does.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TypeGuard

from bracketgen.geometry.contour import Contour, Edge
from bracketgen.geometry.line import Line
from bracketgen.geometry.point import Point
from bracketgen.part.bend import Bend
from bracketgen.part.panel import Panel
from bracketgen.tolerances import SAME_POINT_MM

Span = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Seam:
    """The marks along a bend from 0 to its width, mm, and for each stretch between two whether a panel is there."""

    marks: tuple[float, ...]
    parent: tuple[bool, ...]
    child: tuple[bool, ...]

    def stretches(self) -> Sequence[Span]:
        """From mark to mark."""
        return tuple(pairwise(self.marks))


@dataclass(frozen=True, slots=True)
class Tangent:
    """A tangent line as the edge of its panel: metal on its left. `marks` are those of its seam, as points."""

    line: Line
    marks: tuple[Point, ...]


def seam_of(bend: Bend, parent: Panel, child: Panel) -> Seam:
    """The seam of a bend; both of its tangent lines have the same marks."""
    width = bend.width_mm
    # The parent's outline runs against the bend.
    against = [(width - b, width - a) for a, b in _spans(bend.parent_line.reversed(), parent)]
    sides = [against, list(_spans(bend.child_line, child))]
    marks = [0.0]
    for x in sorted(x for spans in sides for span in spans for x in span):
        if marks[-1] + SAME_POINT_MM < x < width - SAME_POINT_MM:
            marks.append(x)
    marks.append(width)
    middles = [(a + b) / 2 for a, b in pairwise(marks)]
    there = [tuple(any(a < x < b for a, b in spans) for x in middles) for spans in sides]
    return Seam(tuple(marks), there[0], there[1])


def tangents_of(bend: Bend, seam: Seam) -> tuple[Tangent, ...]:
    """The parent's tangent line and the child's."""
    return tuple(
        Tangent(line, tuple(_at(bend_line, x) for x in seam.marks))
        for line, bend_line in ((bend.parent_line.reversed(), bend.parent_line), (bend.child_line, bend.child_line))
    )


def marked_outline(panel: Panel, tangents: Sequence[Tangent]) -> Contour:
    """The panel's outline with a corner at every mark that lies within one of its edges."""
    return Contour(tuple(piece for edge in panel.outline.edges for piece in _pieces(edge, tangents)))


def _at(line: Line, x: float) -> Point:
    return line.start.plus(line.end.minus(line.start).unit(), x)


def _spans(tangent: Line, panel: Panel) -> Iterator[Span]:
    """What the panel's outline takes of a tangent line with the panel on its left, mm along it."""
    for edge in panel.outline.edges:
        if _runs_on(edge, tangent):
            yield tangent.along(edge.start), tangent.along(edge.end)


def _runs_on(edge: Edge, tangent: Line) -> TypeGuard[Line]:
    """Whether the edge lies on the tangent line and runs along it."""
    if not isinstance(edge, Line):
        return False
    along = tangent.end.minus(tangent.start).unit()
    beside = [abs(along.cross(p.minus(tangent.start))) for p in (edge.start, edge.end)]
    return max(beside) <= SAME_POINT_MM and along.dot(edge.end.minus(edge.start)) > 0.0


def _pieces(edge: Edge, tangents: Iterable[Tangent]) -> Sequence[Edge]:
    if not isinstance(edge, Line):
        return (edge,)
    marks = [p for tangent in tangents if _runs_on(edge, tangent.line) for p in tangent.marks]
    inner = [p for p in marks if SAME_POINT_MM < edge.along(p) < edge.length - SAME_POINT_MM]
    points = [edge.start, *sorted(inner, key=edge.along), edge.end]
    return [Line(a, b) for a, b in pairwise(points)]
