"""Runs of short straight lines that stand for an arc."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import atan2, cos, pi, radians, tau

from bracketgen.writers.readback.circle_fit import circle_through, stray_mm, turned_rad
from bracketgen.writers.readback.edges import Edge, Point

#: Four chords and more that turn by up to this much each are an arc: a twelve-sided opening counts as a circle,
#: an eight-sided one does not (common practice, no source).
_MOST_TURN_RAD = radians(30.5)
_FEWEST = 4
#: All chords together turn at least this far; less is a line drawn a little crooked. Own choice.
_LEAST_SWEEP_RAD = radians(15.0)
#: No chord of a run is longer than this many times the middle one: longer ones are flats.
_LONGEST_CHORD = 2.5
#: How far corners may stray from the circle: numbers written to two decimals are off by 0.007 mm.
_STRAY_MM = 0.01


@dataclass(frozen=True, slots=True)
class FacetRun:
    """Edges `first` to `first + count - 1` of a chain stand for an arc (`count` = all of a ring: a circle).

    `deviation_mm` is the greatest distance between the lines and the arc, measured both ways.
    """

    first: int
    count: int
    centre: Point
    radius_mm: float
    sweep_rad: float
    deviation_mm: float


def facet_runs(ring: Sequence[Edge]) -> tuple[tuple[Edge, ...], tuple[FacetRun, ...]]:
    """The closed ring, begun where no run is cut in two, and its runs, which don't overlap."""
    edges = _begun_at_a_corner(ring)
    whole = _run(edges, 0, len(edges))
    if whole and abs(abs(whole.sweep_rad) - tau) < 1e-6:
        return edges, (whole,)
    runs: list[FacetRun] = []
    at = 0
    while at + _FEWEST <= len(edges):
        run = _longest(edges, at)
        if run:
            runs.append(run)
        at += run.count if run else 1
    return edges, tuple(runs)


def _begun_at_a_corner(ring: Sequence[Edge]) -> tuple[Edge, ...]:
    """Turned round so that it begins where lines and arcs meet, or else at the sharpest corner."""

    def sharpness(i: int) -> tuple[int, float]:
        before, after = ring[i - 1], ring[i]
        if before.is_line != after.is_line:
            return 2, 0.0
        if before.is_line and abs(_turn(before, after)) > _MOST_TURN_RAD:
            return 1, abs(_turn(before, after))
        # A long flat between facets ends the run as well, however little it turns.
        return 0, abs(before.length_mm - after.length_mm) / max(before.length_mm, after.length_mm, 1e-12)

    start = max(range(len(ring)), key=sharpness) if ring else 0
    return (*ring[start:], *ring[:start])


def _turn(one: Edge, two: Edge) -> float:
    before = atan2(one.end[1] - one.start[1], one.end[0] - one.start[0])
    after = atan2(two.end[1] - two.start[1], two.end[0] - two.start[0])
    return (after - before + pi) % tau - pi


def _longest(edges: Sequence[Edge], first: int) -> FacetRun | None:
    """The longest run that begins at an edge: doubled while it holds, then halved in between."""
    best = _run(edges, first, _FEWEST)
    if best is None:
        return None
    most = len(edges) - first
    low, high = _FEWEST, _FEWEST
    while high < most:
        high = min(2 * high, most)
        grown = _run(edges, first, high)
        if grown is None:
            break
        best, low = grown, high
    while high - low > 1:
        middle = (low + high) // 2
        grown = _run(edges, first, middle)
        if grown:
            best, low = grown, middle
        else:
            high = middle
    return best


def _run(edges: Sequence[Edge], first: int, count: int) -> FacetRun | None:
    """The run of `count` edges from one on, if they stand for an arc."""
    chosen = edges[first : first + count]
    if len(chosen) < _FEWEST or not all(e.is_line and e.length_mm > 0.0 for e in chosen):
        return None
    points = [chosen[0].start, *(e.end for e in chosen)]
    turns = [_turn(a, b) for a, b in pairwise(chosen)]
    if not (all(0.0 < t <= _MOST_TURN_RAD for t in turns) or all(0.0 < -t <= _MOST_TURN_RAD for t in turns)):
        return None
    lengths = sorted(e.length_mm for e in chosen)
    if lengths[-1] > _LONGEST_CHORD * lengths[len(lengths) // 2]:
        return None
    return _on_circle(points, first, count)


def _on_circle(points: list[Point], first: int, count: int) -> FacetRun | None:
    closed = points[0] == points[-1]
    found = circle_through(points[:-1] if closed else points)
    if found is None:
        return None
    centre, radius = found
    sweep = turned_rad(points, centre)
    stray = stray_mm(points, centre, radius)
    chords = [abs(turned_rad([a, b], centre)) for a, b in pairwise(points)]
    # A chord's middle lies inside the arc by its rise; corners may lie off the circle besides.
    rise = radius * (1.0 - cos(max(chords) / 2.0))
    too_coarse = max(chords) > _MOST_TURN_RAD + 0.01
    if stray > min(_STRAY_MM, 0.05 * radius) or abs(sweep) < _LEAST_SWEEP_RAD or too_coarse:
        return None
    # The arc keeps both ends of the run, which shifts it by no more than they stray from the circle.
    return FacetRun(first, count, centre, radius, sweep, rise + 2.0 * stray)
