"""A thousand random outlines: every vertex and every round of the result against closed forms of a referee.

The referee (carriers.py) knows the lines and circles that each outline was composed of and solves their meetings by
itself; areas are held against a dense polygon union. A clear fault counts as an error, and errors must stay rare.
"""

from __future__ import annotations

import cmath
import math
import random
from collections import Counter
from collections.abc import Sequence

import pytest
import shapely
from carriers import Carrier, Ring, Straight, place_error, through, touching
from random_outlines import Composition, composition

from bracketgen.errors import GeometryFault
from bracketgen.geometry.combine import combine
from bracketgen.geometry.contour import Contour, Edge
from bracketgen.geometry.edge import Arc, Line
from bracketgen.geometry.plane import Point
from bracketgen.geometry.rounding import Corner, CornerFit, Reduced, round_corners

EXACT_MM = 1e-9
OUTLINES = 1000
CHORD_MM = 1e-3


def at(p: Point) -> complex:
    return complex(p.x, p.y)


def source_of(edge: Edge, sources: Sequence[Carrier]) -> Carrier | None:
    """The input line or circle that an edge lies on, or None."""
    for source in sources:
        if isinstance(edge, Line) and isinstance(source, Straight):
            if source.off(at(edge.start)) <= EXACT_MM and source.off(at(edge.end)) <= EXACT_MM:
                return source
        elif (
            isinstance(edge, Arc)
            and isinstance(source, Ring)
            and abs(edge.radius - source.r) <= EXACT_MM
            and abs(at(edge.centre) - source.c) <= EXACT_MM
        ):
            return source
    return None


def round_error(ring: Ring, before: Carrier, after: Carrier, start: complex, end: complex) -> float:
    """How far a round is from the circle of its radius that touches both neighbours, and its ends from the feet."""
    candidates = [(s, t) for s in before.shifted(ring.r) for t in after.shifted(ring.r)]
    off = min(place_error(ring.c, s, t) for s, t in candidates)
    return max(off, abs(start - touching(ring, before)), abs(end - touching(ring, after)))


def worst_vertex(chain: Contour, sources: Sequence[Carrier], rounds: Sequence[float]) -> float:
    """The largest error of a vertex or a round, mm; infinite for an edge of unknown origin."""
    own = [source_of(e, sources) for e in chain.edges]
    carriers: list[Carrier] = []
    for edge, source in zip(chain.edges, own, strict=True):
        if source is None and not isinstance(edge, Arc):
            return math.inf
        carriers.append(source or Ring(at(edge.centre), edge.radius))  # type: ignore[union-attr]
    worst = 0.0
    n = len(own)
    for i, edge in enumerate(chain.edges):
        before, here, after = carriers[i - 1], carriers[i], carriers[(i + 1) % n]
        if own[i] is None:
            if min(abs(edge.radius - r) for r in rounds) > EXACT_MM:  # type: ignore[union-attr]
                return math.inf
            worst = max(worst, round_error(here, before, after, at(edge.start), at(edge.end)))  # type: ignore[arg-type]
            continue
        worst = max(worst, here.off(at(edge.start)), here.off(at(edge.end)))
        if own[i - 1] is not None and before is not here:
            worst = max(worst, place_error(at(edge.start), before, here))
    return worst


def dense(chain: Contour) -> tuple[shapely.Polygon, float]:
    """Chords of a chain, and the most that they can be wrong by, mm2: twice the segments between arc and chord."""
    points: list[complex] = []
    slack = 0.0
    for e in chain.edges:
        points.append(at(e.start))
        if isinstance(e, Arc):
            c, r = at(e.centre), e.radius
            # The sweep again from ends and bulge, so that a wrong one is seen here.
            sweep = 4 * math.atan(e.bulge)
            assert abs((at(e.start) - c) * cmath.exp(1j * sweep) + c - at(e.end)) < 1e-6
            n = math.ceil(abs(sweep) / (2 * math.acos(1 - CHORD_MM / r)))
            points += [c + (at(e.start) - c) * cmath.exp(1j * sweep * k / n) for k in range(1, n)]
            step = abs(sweep) / n
            slack += n * r**2 * (step - math.sin(step))
    return shapely.Polygon([(z.real, z.imag) for z in points]), slack


def area_error(made: Composition, area: float) -> float:
    """Difference from the polygon union beyond what the chords explain, mm2."""
    added = [dense(c) for c in made.added]
    cut = [dense(c) for c in made.cut]
    union = shapely.union_all([p for p, _ in added])
    if cut:
        union = union.difference(shapely.union_all([p for p, _ in cut]))
    return abs(union.area - area) - sum(s for _, s in added + cut)


def corners_left(chain: Contour, kind: Corner, reduced: Sequence[Reduced]) -> int:
    """Corners of a kind that are still sharp although nobody was told."""
    told = [r.at for r in reduced if r.made_mm == 0]
    left = 0
    for i, e in enumerate(chain.edges):
        a, b = chain.edges[i - 1].direction_at(e.start), e.direction_at(e.start)
        if a.cross(b) * kind.value > 1e-5 and all(e.start.distance(p) > 1e-6 for p in told):
            left += 1
    return left


def one_outline(seed: int) -> tuple[float, list[str]]:
    """Worst vertex of all stages of one outline, and what was wrong with it."""
    made = composition(seed)
    rng = random.Random(-seed)
    regions = combine(made.added, made.cut)
    wrong = []
    if area_error(made, sum(r.area for r in regions)) > 0:
        wrong.append("area")
    worst = max(worst_vertex(c, made.sources, [math.inf]) for r in regions for c in (r.outer, *r.inner))
    raw = max(regions, key=lambda r: r.area).outer
    hollow_mm, outer_mm = rng.choice([3.0, 5.0, 8.0]), rng.choice([1.0, 2.0])
    filled, hollow = round_corners(raw, hollow_mm, Corner.HOLLOW, CornerFit.LARGEST)
    smooth, outer = round_corners(filled, outer_mm, Corner.OUTER, CornerFit.LARGEST)
    radii = [hollow_mm, outer_mm, *(r.made_mm for r in (*hollow, *outer))]
    worst = max(worst, worst_vertex(filled, made.sources, radii), worst_vertex(smooth, made.sources, radii))
    if not raw.area <= filled.area or not smooth.area <= filled.area:
        wrong.append("a round on the wrong side")
    if corners_left(filled, Corner.HOLLOW, hollow) or corners_left(smooth, Corner.OUTER, outer):
        wrong.append("a sharp corner that nobody was told of")
    polygon, slack = dense(smooth)
    if not polygon.is_valid:
        wrong.append("crosses itself")
    if abs(polygon.area - smooth.area) > slack:
        wrong.append("area of the rounded chain")
    if any(smooth.edges[i - 1].end != e.start for i, e in enumerate(smooth.edges)):
        wrong.append("not closed")
    return worst, wrong


def test_a_sample_of_random_outlines_is_exact_or_clearly_refused() -> None:
    _hold(range(0, OUTLINES, 8))


@pytest.mark.sweep
def test_a_thousand_random_outlines_are_exact_or_clearly_refused() -> None:
    _hold(range(OUTLINES))


def _hold(seeds: range) -> None:
    refused: Counter[str] = Counter()
    off: dict[int, float] = {}
    wrong: dict[int, list[str]] = {}
    for seed in seeds:
        try:
            worst, faults = one_outline(seed)
        except GeometryFault as fault:
            assert fault.at is not None
            refused[fault.what] += 1
            continue
        if worst > EXACT_MM:
            off[seed] = worst
        if faults:
            wrong[seed] = faults
    assert off == {}
    assert wrong == {}
    assert refused.total() < len(seeds) / 100, refused


def test_the_referee_sees_a_vertex_that_is_off_by_two_nanometres() -> None:
    made = composition(7)
    (region,) = combine(made.added, made.cut)
    edges = list(region.outer.edges)
    i = next(i for i, e in enumerate(edges) if isinstance(e, Line) and isinstance(edges[i - 1], Line | Arc))
    moved = edges[i].start.plus(Point(1.5e-6, 1.5e-6))
    edges[i], edges[i - 1] = edges[i].between(moved, edges[i].end), edges[i - 1].between(edges[i - 1].start, moved)
    assert worst_vertex(region.outer, made.sources, [math.inf]) <= EXACT_MM
    assert worst_vertex(Contour(tuple(edges)), made.sources, [math.inf]) > EXACT_MM


def test_the_referee_knows_the_school_cases() -> None:
    assert abs(through(0, 1).foot(3 + 4j) - 3) < 1e-15
    assert place_error(3 + 4j, Ring(0j, 5), Ring(6 + 0j, 5)) < 1e-14
    assert place_error(3 - 4j, Ring(0j, 5), through(3 + 0j, 3 + 1j)) < 1e-14
    assert (
        round_error(Ring(15j + 8, 7), Ring(0j, 10), Ring(16 + 0j, 10), 10 * (8 + 15j) / 17, 16 + 10 * (-8 + 15j) / 17)
        < 1e-13
    )
