"""Enough metal is left between cuts."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from bracketgen.findings import Finding, Level
from bracketgen.geometry.contour import Circle, Contour, Cut, Edge, holds
from bracketgen.geometry.edge import Box
from bracketgen.geometry.gap import Gap, cut_gap, edge_gap
from bracketgen.geometry.plane import Point, midpoint
from bracketgen.rules.facing import Side
from bracketgen.rules.near import near_pairs
from bracketgen.rules.rule import Rule, at, cited, short_of, up_mm
from bracketgen.rules.subject import Subject
from bracketgen.tolerances import SAME_POINT_MM

_ID: Final = "min-web"
_OUTLINE: Final = "outline"

_Piece = Circle | Edge


def _check(subject: Subject) -> Iterator[Finding]:
    process = subject.part.stock.process
    least = process.minimum_web_mm(subject.thickness_mm)
    source = cited(process.source, process.how)
    for name, gap in [*_between_cuts(subject, least), *_necks(subject)]:
        if not short_of(gap.mm, least):
            continue
        if gap.mm <= SAME_POINT_MM:
            remedy = f"no metal is left here: move the cuts {up_mm(least)} apart"
        else:
            remedy = f"leave {up_mm(least - gap.mm)} more metal between the cuts"
        place = at(midpoint(gap.here, gap.there))
        yield Finding(_ID, Level.FAIL, name, gap.mm, least, "mm", place, remedy, source)


def _between_cuts(subject: Subject, within: float) -> Iterator[tuple[str, Gap]]:
    """The least gap of every two cuts, and of a cut and the outline, that come within reach of each other."""
    owners: list[str] = [_OUTLINE, *(name for name, _ in subject.cuts)]
    pieces: list[tuple[int, _Piece]] = [(0, e) for e in subject.flat.outline.edges]
    for n, (_name, cut) in enumerate(subject.cuts, 1):
        pieces += [(n, cut)] if isinstance(cut, Circle) else [(n, e) for e in cut.edges]
    boxes = [piece.bounds() for _, piece in pieces]
    least: dict[tuple[int, int], Gap] = {}
    for i, j in near_pairs(boxes, [within] * len(boxes), boxes):
        (a, p), (b, q) = pieces[i], pieces[j]
        if a < b:
            gap = _piece_gap(p, q)
            if (a, b) not in least or gap.mm < least[a, b].mm:
                least[a, b] = gap
    for (a, b), gap in sorted(least.items()):
        yield f"{owners[a]} and {owners[b]}", gap
    yield from _nested(subject)


def _piece_gap(p: _Piece, q: _Piece) -> Gap:
    if isinstance(p, Circle) and isinstance(q, Circle):
        gap = cut_gap(p, q)
        apart = p.centre.distance(q.centre) < p.radius + q.radius
        return Gap(0.0, gap.here, gap.there) if apart else gap
    if isinstance(p, Circle) or isinstance(q, Circle):
        return cut_gap(*(c if isinstance(c, Circle) else Contour((c,)) for c in (p, q)))
    return edge_gap(p, q)


def _nested(subject: Subject) -> Iterator[tuple[str, Gap]]:
    """Cuts that lie wholly inside another, where a gap says nothing: one of the two can't be meant."""
    cuts = subject.cuts
    boxes = [cut.bounds() for _, cut in cuts]
    for i, j in near_pairs(boxes, [0.0] * len(boxes), boxes):
        inner, outer = cuts[i][1], cuts[j][1]
        both_round = isinstance(inner, Circle) and isinstance(outer, Circle)
        if i != j and not both_round and _box_within(boxes[i], boxes[j]) and _lies_in(inner, outer):
            p = _some_point(inner)
            yield f"{cuts[min(i, j)][0]} and {cuts[max(i, j)][0]}", Gap(0.0, p, p)


def _box_within(a: Box, b: Box) -> bool:
    return b[0] <= a[0] and b[1] <= a[1] and a[2] <= b[2] and a[3] <= b[3]


def _some_point(cut: Cut) -> Point:
    return cut.centre if isinstance(cut, Circle) else cut.edges[0].start


def _lies_in(inner: Cut, outer: Cut) -> bool:
    if cut_gap(inner, outer).mm <= SAME_POINT_MM:
        return False
    p = _some_point(inner)
    return outer.centre.distance(p) < outer.radius if isinstance(outer, Circle) else holds(outer, p)


def _necks(subject: Subject) -> Iterator[tuple[str, Gap]]:
    """Necks of the outline, tongues into an opening, and any place where a chain touches itself."""
    for name, facings in subject.facing:
        metal = Side.INSIDE if name == _OUTLINE else Side.OUTSIDE
        for f in facings:
            if f.side is metal or f.gap.mm <= SAME_POINT_MM:
                yield name, f.gap


RULE = Rule(
    _ID,
    "Between any two cuts, a cut and the edge, and in every neck: enough metal for the process and thickness",
    "the process table",
    _check,
)
