"""Splines, ellipses, blocks and facets as the reader takes them, against the library's own geometry and plane sums."""

from __future__ import annotations

import math
import random
from collections.abc import Iterable
from itertools import pairwise

import pytest
from ezdxf import math as em
from ezdxf.entities import Insert
from faulty_dxf import plain, tags
from hypothesis import given, settings
from hypothesis import strategies as st

from bracketgen.files.edges import Edge
from bracketgen.files.group_codes import read_group_codes
from bracketgen.files.inspecting.arcs import arcs_round, circle_through, facet_runs
from bracketgen.files.inspecting.drawing import MM, read_drawing
from bracketgen.files.inspecting.inspection import Limits, inspect_bytes
from bracketgen.files.inspecting.mend import mend
from bracketgen.files.inspecting.outlines import joints


def edges_of(*pairs: tuple[int, object], blocks: str = "") -> tuple[list[Edge], float]:
    """The lines and arcs of one entity of a file, and how far they stray from it."""
    text = plain(tags(*pairs)).replace("  0\nSECTION\n  2\nENTITIES", f"{blocks}  0\nSECTION\n  2\nENTITIES")
    pieces = read_drawing(read_group_codes(text.encode()), MM).pieces
    return [e for p in pieces for e in p.edges], max((p.deviation_mm for p in pieces), default=0.0)


def farthest(points: Iterable[tuple[float, float]], edges: list[Edge]) -> float:
    return max(min(e.distance_mm(p) for e in edges) for p in points)


@pytest.mark.parametrize("seed", range(20))
def test_splines_run_as_de_boor_has_them(seed: int) -> None:
    """Random degree, knots from anywhere, and weights, by the recursion of de Boor, J. Approx. Theory 6 (1972), 50."""
    dice = random.Random(seed)
    order, count, first = dice.randint(2, 6), dice.randint(7, 14), dice.choice((0.0, -3.0, 7.5))
    controls = [(dice.uniform(-50, 50), dice.uniform(-50, 50)) for _ in range(count)]
    knots = (
        [first] * order + sorted(first + dice.uniform(0.0, 9.0) for _ in range(count - order)) + [first + 9.0] * order
    )
    weights = [dice.uniform(0.3, 3.0) for _ in range(count)] if seed % 2 else [1.0] * count
    body: list[tuple[int, object]] = [(0, "SPLINE"), (8, 0), (71, order - 1), *((40, k) for k in knots)]
    body += [(41, w) for w in weights] if seed % 2 else []
    edges, told = edges_of(*body, *(pair for x, y in controls for pair in ((10, x), (20, y))))
    assert told <= 0.005
    points = [de_boor(controls, weights, knots, order - 1, first + 0.0225 * step) for step in range(400)]
    assert farthest(points, edges) <= 1.2 * told + 1e-6


def de_boor(
    controls: list[tuple[float, float]], weights: list[float], knots: list[float], degree: int, at: float
) -> tuple[float, float]:
    span = max(k for k in range(degree, len(controls)) if knots[k] <= at)
    rows = [(x * w, y * w, w) for (x, y), w in zip(controls, weights, strict=True)][span - degree : span + 1]
    for level in range(1, degree + 1):
        for j in range(degree, level - 1, -1):
            left = knots[span - degree + j]
            share = (at - left) / (knots[span + 1 + j - level] - left)
            rows[j] = tuple(a + share * (b - a) for a, b in zip(rows[j - 1], rows[j], strict=True))  # type: ignore[assignment]
    x, y, w = rows[degree]
    return x / w, y / w


@pytest.mark.parametrize("turn", [0.0, 33.0, 90.0, 200.0])
@pytest.mark.parametrize("extrusion", [1.0, -1.0])
def test_part_ellipses_run_as_the_library_s(turn: float, extrusion: float) -> None:
    major = (30.0 * math.cos(math.radians(turn)), 30.0 * math.sin(math.radians(turn)))
    theirs = em.ConstructionEllipse((5, 7), major, (0, 0, extrusion), 0.35, 0.4, 4.1)
    seen_from = ((210, 0), (220, 0), (230, extrusion))
    axes = ((11, major[0]), (21, major[1]), (40, 0.35), (41, 0.4), (42, 4.1))
    edges, told = edges_of((0, "ELLIPSE"), (8, 0), (10, 5), (20, 7), *axes, *seen_from)
    wanted = [(p.x, p.y) for p in theirs.vertices(theirs.params(201))]
    assert farthest(wanted, edges) <= 1.2 * told + 1e-6
    assert [edges[0].start, edges[-1].end] == [pytest.approx(p, abs=1e-9) for p in (wanted[0], wanted[-1])]


@pytest.mark.parametrize("far", [1e9, 9.9e6, 1.1e5, 0.9e5])
@pytest.mark.parametrize("which", [0, 4, 9])
def test_a_control_point_far_away_makes_no_endless_row_of_arcs(far: float, which: int) -> None:
    """A curve wider than 100 m is refused as a whole; a narrower one ends within the 2,000 arcs that are allowed."""
    controls = [(10.0 * k, float(k % 3)) for k in range(10)]
    controls[which] = (far, -far)
    knots = [0] * 4 + list(range(1, 7)) + [7] * 4
    body: list[tuple[int, object]] = [(0, "SPLINE"), (8, 0), (71, 3), *((40, k) for k in knots)]
    data = plain(tags(*body, *(pair for x, y in controls for pair in ((10, x), (20, y))))).encode()
    found = inspect_bytes(data)
    mend(found, Limits())
    assert "size" in {f.code.value for f in found.findings}
    assert found.drawing is not None
    edges = sum(len(piece.edges) for piece in found.drawing.pieces)
    assert edges == 0 if far > 1e5 else 0 < edges <= 2000


@settings(max_examples=60, deadline=None)
@given(st.floats(0.5, 200.0), st.floats(0.02, 1.0), st.floats(0.0, 6.2), st.floats(0.3, 6.2), st.floats(-400, 400))
def test_arcs_of_an_ellipse_stay_within_what_is_said(
    long: float, ratio: float, start: float, sweep: float, x: float
) -> None:
    """The true distance from dense points of the ellipse to the arcs; ends kept; hardly any corner between arcs."""
    body = (0, "ELLIPSE"), (8, 0), (10, x), (20, 3), (11, long), (21, 0), (40, ratio), (41, start), (42, start + sweep)
    edges, told = edges_of(*body)
    assert told <= 0.005 + 1e-12
    points = [
        (x + long * math.cos(start + sweep * k / 400), 3 + long * ratio * math.sin(start + sweep * k / 400))
        for k in range(401)
    ]
    assert max(min(e.distance_mm(p) for e in edges) for p in points) <= 1.2 * told + 1e-6
    assert math.dist(edges[0].start, points[0]) < 1e-9
    assert math.dist(edges[-1].end, points[-1]) < 1e-9
    for one, two in pairwise(edges):
        assert one.end == two.start


def test_a_corner_in_a_spline_stays_a_corner() -> None:
    """Degree 1 through a square: four lines, nothing rounded."""
    corners = [(0, 0), (10, 0), (10, 10), (0, 10), (0, 0)]
    body: list[tuple[int, object]] = [(0, "SPLINE"), (8, 0), (71, 1), *((40, k) for k in (0, 0, 1, 2, 3, 4, 4))]
    body += [pair for x, y in corners for pair in ((10, x), (20, y))]
    edges, off = edges_of(*body)
    assert [e.end for e in edges] == [pytest.approx(c) for c in corners[1:]]
    assert all(e.is_line for e in edges)
    assert off < 1e-9


def test_the_circle_through_three_points() -> None:
    """A right angle stands in a half circle: Thales."""
    found = circle_through([(0.0, 0.0), (6.0, 0.0), (0.0, 8.0)])
    assert found is not None
    assert found[0] == pytest.approx((3.0, 4.0))
    assert found[1] == pytest.approx(5.0)
    assert circle_through([(0.0, 0.0), (1.0, 1.0), (5.0, 5.0)]) is None


@pytest.mark.parametrize("sweep", [0.2, -1.5, 3.0, -5.9])
def test_arcs_round_a_centre(sweep: float) -> None:
    end = (3.0 + 5.0 * math.cos(0.3 + sweep), 4.0 + 5.0 * math.sin(0.3 + sweep))
    edges = arcs_round((3.0, 4.0), 5.0, (3.0 + 5.0 * math.cos(0.3), 4.0 + 5.0 * math.sin(0.3)), end, sweep)
    assert math.fsum(e.sweep_rad for e in edges) == pytest.approx(sweep)
    assert all(abs(e.sweep_rad) < math.pi for e in edges)
    assert all(e.centre == pytest.approx((3.0, 4.0)) for e in edges)


def in_a_block(*pairs: tuple[int, object], base: tuple[float, float] = (0.0, 0.0)) -> str:
    head = tags((0, "SECTION"), (2, "BLOCKS"), (0, "BLOCK"), (8, 0), (2, "B"), (70, 0), (10, base[0]), (20, base[1]))
    return head + tags(*pairs, (0, "ENDBLK"), (0, "ENDSEC"))


@pytest.mark.parametrize("size", [(2.0, 2.0), (-2.0, 2.0), (2.0, -2.0), (3.0, 1.0), (-1.0, 2.5)])
@pytest.mark.parametrize("extrusion", [1.0, -1.0])
def test_a_block_s_arc_goes_where_the_library_puts_it(size: tuple[float, float], extrusion: float) -> None:
    """Scaled, turned, moved, seen from below: points of the placed arc against the library's own block reference."""
    places = {"insert": (7, -3), "xscale": size[0], "yscale": size[1], "rotation": 25, "extrusion": (0, 0, extrusion)}
    matrix = Insert.new(dxfattribs=places).matrix44()
    arc = ((0, "ARC"), (8, 0), (10, 1.0), (20, 2.0), (40, 5.0), (50, 20.0), (51, 290.0))
    insert = ((0, "INSERT"), (8, "CUT"), (2, "B"), (10, 7), (20, -3), (41, size[0]), (42, size[1]), (50, 25))
    made, off = edges_of(*insert, (210, 0), (220, 0), (230, extrusion), blocks=in_a_block(*arc))
    assert off <= 0.005
    turns = [math.radians(20.0 + 2.7 * k) for k in range(101)]
    there = [matrix.transform((1.0 + 5.0 * math.cos(t), 2.0 + 5.0 * math.sin(t), 0.0)) for t in turns]
    assert farthest([(p.x, p.y) for p in there], made) <= 1.2 * off + 1e-6


def test_rows_and_columns_turn_with_the_block() -> None:
    """DXF Reference, INSERT: the array is turned with the insert; 2 columns, turned a quarter, stand upright."""
    block = in_a_block((0, "CIRCLE"), (8, 0), (10, 1.0), (20, 0.0), (40, 2.0), base=(1.0, 0.0))
    insert = ((0, "INSERT"), (8, "CUT"), (2, "B"), (10, 50), (20, 20), (50, 90), (70, 2), (44, 10))
    edges, _ = edges_of(*insert, blocks=block)
    assert [e.centre for e in edges] == [pytest.approx((50, 20)), pytest.approx((50, 30))]


def test_rows_and_columns_without_end_are_told_and_not_made() -> None:
    block = in_a_block((0, "CIRCLE"), (8, 0), (10, 1.0), (20, 0.0), (40, 2.0))
    insert = tags((0, "INSERT"), (8, "CUT"), (2, "B"), (10, 50), (20, 20), (70, 300), (71, 300), (44, 10), (45, 10))
    text = plain(insert).replace("  0\nSECTION\n  2\nENTITIES", f"{block}  0\nSECTION\n  2\nENTITIES")
    found = inspect_bytes(text.encode())
    assert "degenerate" in {f.code.value for f in found.findings}
    assert found.drawing is not None and found.drawing.pieces == ()


def test_facets_begin_and_end_at_the_tangent_points() -> None:
    """A D of a half circle in 20 chords and a flat: one run of 20, the flat stays out of it."""
    corners = [(10 * math.cos(math.pi * k / 20), 10 * math.sin(math.pi * k / 20)) for k in range(21)]
    ring = [Edge(a, b) for a, b in zip(corners, corners[1:] + corners[:1], strict=True)]
    for turned in (0, 7, 20):
        edges, (run,) = facet_runs([*ring[turned:], *ring[:turned]])
        assert run.count == 20
        assert edges[run.first].start == pytest.approx((10.0, 0.0))
        assert run.radius_mm == pytest.approx(10.0)
        assert run.deviation_mm == pytest.approx(10.0 * (1.0 - math.cos(math.pi / 40)), rel=1e-6)


def test_two_radii_are_two_runs() -> None:
    """A quarter of 20 mm runs tangent into a quarter of 5 mm: two arcs, each of its own radius."""
    first = [(20 * math.sin(a), 20 - 20 * math.cos(a)) for a in (math.pi / 2 * k / 24 for k in range(25))]
    second = [(15 + 5 * math.cos(a), 20 + 5 * math.sin(a)) for a in (math.pi / 2 * k / 12 for k in range(13))]
    corners = [*first, *second[1:], (0.0, 25.0)]
    ring = [Edge(a, b) for a, b in zip(corners, corners[1:] + corners[:1], strict=True)]
    _, runs = facet_runs(ring)
    assert sorted(round(r.radius_mm, 3) for r in runs) == [5.0, 20.0]


def test_joints_hang_together_only_within_reach() -> None:
    labels = joints([(0.0, 0.0), (0.0015, 0.0), (0.003, 0.0), (0.01, 0.0)])
    assert labels[0] == labels[1] == labels[2] != labels[3]
