"""One flaw put into a clean file gives exactly its own code; clean files give none."""

from __future__ import annotations

import re
import sys
from collections.abc import Callable
from itertools import pairwise
from math import cos, pi, radians, sin
from types import FrameType

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from plates_to_cut import QUARTER, rounded_rectangle

from bracketgen.drawing.cut_sheet import Chain, Closure, CutSheet, Layer, Round
from bracketgen.files.dxf import differences, dxf_bytes
from bracketgen.files.edges import Edge, bulged, meeting_points
from bracketgen.files.edges import circle as circle_edge
from bracketgen.files.lint import Flaw, lint

#: Group code 42 of a quarter turn: tan(90° / 4), the 0.414214 of the DXF Reference's own example.


def polygon(*points: tuple[float, float]) -> Chain:
    return Chain(tuple((x, y, 0.0) for x, y in points))


#: A filter-head plate: rounded outline, two bolt holes, a slot with quarter arcs, a square window.
PLATE = CutSheet(
    "filter-plate",
    (Round(15.0, 20.0, 4.5), Round(105.0, 20.0, 4.5)),
    (
        rounded_rectangle(0.0, 0.0, 120.0, 80.0, 8.0),
        rounded_rectangle(30.0, 15.0, 30.0, 10.0, 4.0),
        polygon((40.0, 40.0), (80.0, 40.0), (80.0, 60.0), (40.0, 60.0)),
    ),
)


def text_of(sheet: CutSheet = PLATE) -> str:
    return dxf_bytes(sheet).decode("ascii")


def codes(text: str) -> set[str]:
    return {finding.code.value for finding in lint(text.encode())}


def tags(*pairs: tuple[int, object]) -> str:
    return "".join(f"{code:3d}\r\n{value}\r\n" for code, value in pairs)


ENTITIES = tags((0, "SECTION"), (2, "ENTITIES"))


def with_entity(*pairs: tuple[int, object]) -> str:
    """The clean plate with one more entity at the front."""
    text = text_of()
    assert text.count(ENTITIES) == 1
    return text.replace(ENTITIES, ENTITIES + tags(*pairs))


def swapped(old: str, new: str, count: int = 1) -> str:
    """The clean plate with one piece of text exchanged, and proof that it was there."""
    text = text_of()
    assert old in text
    return text.replace(old, new, count)


def line(x0: float, y0: float, x1: float, y1: float) -> tuple[tuple[int, object], ...]:
    return ((0, "LINE"), (8, "CUT"), (10, x0), (20, y0), (30, 0.0), (11, x1), (21, y1), (31, 0.0))


def arc(x: float, y: float, r: float, first: float, last: float) -> tuple[tuple[int, object], ...]:
    return ((0, "ARC"), (8, "CUT"), (10, x), (20, y), (40, r), (50, first), (51, last))


def polyline(flag: int, *points: tuple[float, ...]) -> tuple[tuple[int, object], ...]:
    body: list[tuple[int, object]] = [(0, "LWPOLYLINE"), (8, "CUT"), (90, len(points)), (70, flag)]
    for point in points:
        body += zip((10, 20, 42), point, strict=False)
    return tuple(body)


def circle(x: float, y: float, r: float, layer: str = "CUT") -> tuple[tuple[int, object], ...]:
    return ((0, "CIRCLE"), (8, layer), (10, x), (20, y), (30, 0.0), (40, r))


def facets(x: float, y: float, r: float, count: int, share: int) -> list[tuple[float, float]]:
    """The first `share` corners of a many-sided figure of `count` sides about a point."""
    steps = (2.0 * pi * k / count for k in range(share))
    return [(round(x + r * cos(a), 6), round(y + r * sin(a), 6)) for a in steps]


WINDOW_CORNER = tags((10, "80.0"), (20, "60.0"))
HOLE = tags((10, "15.0"), (20, "20.0"), (30, "0.0"), (40, "4.5"))
HOLE_HEAD = re.compile(r"  0\r\nCIRCLE\r\n.*?AcDbCircle\r\n", re.DOTALL)
SQUARE = ((85.0, 30.0), (95.0, 30.0), (95.0, 35.0), (85.0, 35.0))


def without_window_closing() -> str:
    """The window's closed flag gone: an open chain of three edges."""
    return swapped(tags((90, 4), (70, 1)), tags((90, 4), (70, 0)))


def window_by_its_points(flag: int) -> str:
    """The window with its first point repeated at the end, with and without the closed flag."""
    text = text_of()
    body = text[text.index(tags((90, 4), (70, 1))) :]
    first = body[len(tags((90, 4), (70, 1))) :].split("\r\n")[:4]
    repeated = "\r\n".join(first) + "\r\n"
    end = text.index(tags((0, "ENDSEC")), text.index(tags((90, 4))))
    grown = text[:end] + repeated + text[end:]
    return grown.replace(tags((90, 4), (70, 1)), tags((90, 5), (70, flag)))


def gap_of_two_micrometres() -> str:
    corners = [*SQUARE, SQUARE[0]]
    sides = [line(*a, *b) for a, b in pairwise(corners)]
    sides[2] = line(95.0, 35.0, 85.002, 35.0)
    return with_entity(*(pair for side in sides for pair in side))


def inch_part() -> str:
    """The same plate drawn in inch numbers: 120 mm come out as 4.72."""
    k = 1.0 / 25.4
    small = polygon(*((x * k, y * k) for x, y in ((0.0, 0.0), (120.0, 0.0), (120.0, 80.0), (0.0, 80.0))))
    return text_of(CutSheet("inch", (), (small,)))


FAULTY: dict[Flaw, list[Callable[[], str]]] = {
    Flaw.UNREADABLE: [
        lambda: "",
        lambda: text_of()[:-20],
        lambda: swapped(tags((0, "CIRCLE")), "CIRCLE\r\n  0\r\n"),
        lambda: with_entity(*circle(90.0, 40.0, -3.0)),
        lambda: with_entity((0, "CIRCLE"), (8, "CUT"), (10, 90.0), (20, 40.0)),
    ],
    Flaw.NOT_FINITE: [
        lambda: swapped(HOLE, HOLE.replace("4.5", "nan")),
        lambda: swapped(HOLE, HOLE.replace("4.5", "inf")),
        lambda: swapped(HOLE, HOLE.replace("4.5", "4,5")),
    ],
    Flaw.EXPONENT: [lambda: swapped(HOLE, HOLE.replace("4.5", "4.5e0"))],
    Flaw.UNITS: [
        lambda: swapped("$INSUNITS\r\n 70\r\n4", "$INSUNITS\r\n 70\r\n1"),
        lambda: swapped("$MEASUREMENT\r\n 70\r\n1", "$MEASUREMENT\r\n 70\r\n0"),
        lambda: swapped("  9\r\n$INSUNITS\r\n 70\r\n4\r\n", ""),
    ],
    Flaw.EXTENTS: [
        lambda: swapped("$EXTMAX\r\n 10\r\n120.0", "$EXTMAX\r\n 10\r\n120.00001"),
        lambda: swapped("  9\r\n$EXTMIN\r\n 10\r\n0.0\r\n 20\r\n0.0\r\n 30\r\n0.0\r\n", ""),
    ],
    Flaw.SIZE: [
        inch_part,
        lambda: text_of(CutSheet("m", (Round(0.0, 0.0, 1500.1),))),
        lambda: with_entity(*circle(9e9, 0.0, 3.0)),
    ],
    Flaw.EMPTY: [lambda: text_of(CutSheet("marks", (Round(0.0, 0.0, 10.0, Layer.MARK),)))],
    Flaw.UNKNOWN_ENTITY: [
        lambda: with_entity((0, "SPLINE"), (8, "CUT")),
        lambda: with_entity((0, "ELLIPSE"), (8, "CUT")),
        lambda: with_entity((0, "HATCH"), (8, "CUT")),
    ],
    Flaw.TEXT: [lambda: with_entity((0, "TEXT"), (8, "CUT"), (10, 1.0), (20, 1.0), (1, "this side up"))],
    Flaw.BLOCK: [
        lambda: with_entity((0, "INSERT"), (8, "CUT"), (2, "PLATE"), (10, 0.0), (20, 0.0)),
        lambda: swapped(
            tags((0, "SECTION"), (2, "BLOCKS")),
            tags((0, "SECTION"), (2, "BLOCKS"), (0, "BLOCK"), (8, "0"), (2, "PLATE"), (0, "ENDBLK"), (8, "0")),
        ),
    ],
    Flaw.PAPER_SPACE: [lambda: with_entity(*circle(90.0, 40.0, 3.0), (67, 1))],
    Flaw.UNDECLARED_LAYER: [lambda: with_entity(*circle(90.0, 40.0, 3.0, layer="HOLES"))],
    Flaw.LAYER_NAME: [
        lambda: with_entity(*circle(90.0, 40.0, 3.0, layer="0")),
        lambda: text_of().replace("\r\nCUT\r\n", "\r\nCut lines\r\n"),
    ],
    Flaw.Z_NOT_ZERO: [
        lambda: swapped(HOLE, HOLE.replace(tags((30, "0.0")), tags((30, "0.001")))),
        lambda: swapped(tags((90, 4), (70, 1)), tags((90, 4), (70, 1), (38, "2.0"))),
        lambda: swapped(HOLE, HOLE + tags((39, "3.0"))),
    ],
    Flaw.EXTRUSION: [lambda: swapped(HOLE, HOLE + tags((210, "0.0"), (220, "0.0"), (230, "-1.0")))],
    Flaw.OPEN_CHAIN: [
        without_window_closing,
        gap_of_two_micrometres,
        lambda: with_entity(*line(85.0, 30.0, 95.0, 30.0)),
    ],
    Flaw.CLOSED_FLAG: [lambda: window_by_its_points(0)],
    Flaw.REPEATED_FIRST_POINT: [lambda: window_by_its_points(1)],
    Flaw.BULGE_TOO_BIG: [
        lambda: with_entity(*polyline(1, (85.0, 40.0, 1.0), (95.0, 40.0, 1.0))),
        lambda: with_entity(*polyline(1, (88.0, 40.0, 1.5), (92.0, 40.0, 0.4))),
    ],
    Flaw.TINY_EDGE: [
        lambda: swapped(WINDOW_CORNER, WINDOW_CORNER + tags((10, "80.0"), (20, "59.98"))),
        lambda: swapped(WINDOW_CORNER, WINDOW_CORNER + WINDOW_CORNER),
        lambda: with_entity(*circle(90.0, 40.0, 0.005)),
    ],
    Flaw.FACETED_ARC: [
        lambda: with_entity(*polyline(1, *facets(90.0, 40.0, 4.0, 12, 12))),
        lambda: with_entity(*polyline(1, *facets(90.0, 40.0, 4.0, 64, 64))),
        lambda: with_entity(*polyline(1, *facets(90.0, 40.0, 4.0, 32, 6), (86.0, 40.0))),
    ],
    Flaw.DOUBLED_EDGE: [
        lambda: with_entity(*circle(15.0, 20.0, 4.5)),
        lambda: with_entity(*polyline(1, (40.0, 60.0), (80.0, 60.0), (80.0, 40.0), (40.0, 40.0))),
        lambda: with_entity(*line(80.0, 40.0, 40.0, 40.0)),
        lambda: with_entity(*arc(112.0, 8.0, 8.0, 270.0, 360.0)),
    ],
    Flaw.OVERLAPPING_EDGE: [
        lambda: with_entity(*line(70.0, 40.0, 50.0, 40.0)),
        lambda: with_entity(*arc(15.0, 20.0, 4.5, 30.0, 200.0)),
        lambda: with_entity(*polyline(1, (100.0, 80.0), (90.0, 80.0), (90.0, 70.0), (100.0, 70.0))),
        lambda: with_entity(*polyline(1, (85.0, 30.0), (100.0, 30.0), (95.0, 30.0), (95.0, 40.0))),
    ],
    Flaw.CROSSING: [
        lambda: with_entity(*circle(80.0, 50.0, 3.0)),
        lambda: with_entity(*circle(90.0, 77.0, 3.0)),
        lambda: with_entity(*circle(105.0, 29.0, 4.5)),
        lambda: with_entity(*circle(83.0, 50.0, 3.0)),
        lambda: with_entity(*polyline(1, (85.0, 30.0), (95.0, 36.0), (95.0, 30.0), (85.0, 36.0))),
        lambda: with_entity(*polyline(1, (80.0, 60.0), (85.0, 62.0), (85.0, 66.0))),
    ],
    Flaw.OUTSIDE_OUTLINE: [
        lambda: swapped("$EXTMAX\r\n 10\r\n120.0", "$EXTMAX\r\n 10\r\n133.0").replace(
            ENTITIES, ENTITIES + tags(*circle(130.0, 40.0, 3.0))
        ),
        # Inside the corner's box, but outside its arc.
        lambda: with_entity(*circle(0.8, 0.8, 0.5)),
    ],
    Flaw.NESTED: [lambda: with_entity(*circle(60.0, 50.0, 3.0)), lambda: with_entity(*circle(15.0, 20.0, 2.0))],
}


@pytest.mark.parametrize(
    ("flaw", "build"),
    [pytest.param(flaw, b, id=f"{flaw.value}-{n}") for flaw, bs in FAULTY.items() for n, b in enumerate(bs, 1)],
)
def test_one_fault_gives_exactly_its_code(flaw: Flaw, build: Callable[[], str]) -> None:
    assert codes(build()) == {flaw.value}


def test_three_lines_at_one_point_are_a_junction() -> None:
    square = [*SQUARE, SQUARE[0]]
    sides = [line(*a, *b) for a, b in pairwise(square)]
    spur = line(85.0, 30.0, 83.0, 28.0)
    found = codes(with_entity(*(pair for side in (*sides, spur) for pair in side)))
    # A spur has a loose end as well: there is no junction without one, or without a second loop.
    assert found == {Flaw.JUNCTION.value, Flaw.OPEN_CHAIN.value}


def test_every_flaw_has_a_faulty_file_and_a_cure() -> None:
    told = list(Flaw)
    # Flaws after this one are told of files from anyone, by the inspection.
    assert set(FAULTY) | {Flaw.JUNCTION} == set(told[: told.index(Flaw.NESTED) + 1])
    for builds in FAULTY.values():
        assert all(len(finding.cure) > 10 for finding in lint(builds[0]().encode()))


def exploded_plate() -> str:
    """A window of loose lines and arcs whose shared ends are the same numbers."""
    x0, y0, x1, y1, r = 85.0, 50.0, 100.0, 60.0, 2.0
    pieces = [
        *line(x0 + r, y0, x1 - r, y0),
        *arc(x1 - r, y0 + r, r, 270.0, 0.0),
        *line(x1, y1 - r, x1, y0 + r),
        *arc(x1 - r, y1 - r, r, 0.0, 90.0),
        *line(x1 - r, y1, x0 + r, y1),
        *arc(x0 + r, y1 - r, r, 90.0, 180.0),
        *line(x0, y1 - r, x0, y0 + r),
        *arc(x0 + r, y0 + r, r, 180.0, 270.0),
    ]
    return with_entity(*pieces)


CLEAN: dict[str, Callable[[], str]] = {
    "plate": text_of,
    "washer": lambda: text_of(CutSheet("washer", (Round(0.0, 0.0, 20.0), Round(0.0, 0.0, 8.0)))),
    "nut pocket": lambda: with_entity(*polyline(1, *facets(90.0, 40.0, 6.5, 6, 6))),
    "eight sides": lambda: with_entity(*polyline(1, *facets(90.0, 40.0, 6.5, 8, 8))),
    "loose lines and arcs that close": exploded_plate,
    "unix line ends": lambda: text_of().replace("\r\n", "\n"),
    "bend line across the part": lambda: text_of(
        CutSheet(
            "tab",
            PLATE.rounds,
            (*PLATE.chains, Chain(((0.0, 70.0, 0.0), (120.0, 70.0, 0.0)), Closure.OPEN, Layer.BEND)),
        )
    ),
    "saddle of a flat arc": lambda: text_of(
        CutSheet("saddle", (), (Chain(((0.0, 0.0, -0.02), (200.0, 0.0, 0.0), (200.0, 60.0, 0.0), (0.0, 60.0, 0.0))),))
    ),
    "arc over three quarters of a circle, split": lambda: text_of(
        CutSheet("keyhole", (), (Chain(((0.0, 10.0, QUARTER), (-10.0, 0.0, QUARTER), (0.0, -10.0, QUARTER),
                                       (10.0, 0.0, 0.0), (10.0, 10.0, 0.0))),))
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", CLEAN)
def test_clean_files_give_nothing(name: str) -> None:
    assert lint(CLEAN[name]().encode()) == ()


def test_old_polyline_entities_are_read() -> None:
    vertices = [((0, "VERTEX"), (8, "CUT"), (10, x), (20, y)) for x, y in SQUARE]
    body = [pair for vertex in vertices for pair in vertex]
    old = ((0, "POLYLINE"), (8, "CUT"), (66, 1), (70, 1), *body, (0, "SEQEND"), (8, "CUT"))
    assert codes(with_entity(*old)) == set()
    assert codes(with_entity(*old).replace(tags((66, 1), (70, 1)), tags((66, 1), (70, 0)))) == {"open-chain"}


def test_findings_say_where() -> None:
    found = lint(swapped(WINDOW_CORNER, WINDOW_CORNER + WINDOW_CORNER).encode())
    assert [finding.at_mm for finding in found] == [(80.0, 60.0)]
    (tangent,) = lint(with_entity(*circle(90.0, 77.0, 3.0)).encode())
    assert tangent.at_mm == pytest.approx((90.0, 80.0))
    assert "(90.000, 80.000)" in str(tangent)


def test_units_line_number_points_into_the_file() -> None:
    text = swapped(HOLE, HOLE.replace("4.5", "4.5e0"))
    (finding,) = lint(text.encode())
    assert text.split("\r\n")[finding.line - 1] == "4.5e0"


@pytest.mark.parametrize("gap_mm", [0.001, 0.01])
def test_holes_that_nearly_touch_do_not_cross(gap_mm: float) -> None:
    assert codes(with_entity(*circle(105.0, 29.0 + gap_mm, 4.5))) == set()


def test_a_line_meets_an_arc_only_where_the_arc_is() -> None:
    """Upper half of a circle of radius 5, against lines at 3 and 4 (a 3-4-5 triangle) above and below."""
    quarter = bulged((5.0, 0.0), (0.0, 5.0), QUARTER)
    assert meeting_points(quarter, Edge((-9.0, 3.0), (9.0, 3.0))) == [pytest.approx((4.0, 3.0))]
    assert meeting_points(quarter, Edge((-9.0, -3.0), (9.0, -3.0))) == []
    assert meeting_points(quarter, Edge((-9.0, 3.0), (3.9, 3.0))) == []
    assert meeting_points(quarter.reversed(), Edge((4.0, 9.0), (4.0, -9.0))) == [pytest.approx((4.0, 3.0))]
    mirrored = bulged((-5.0, 0.0), (0.0, -5.0), QUARTER)
    assert meeting_points(mirrored, Edge((-9.0, 3.0), (9.0, 3.0))) == []
    other = circle_edge((8.0, 0.0), 5.0)
    assert meeting_points(quarter, other) == [pytest.approx((4.0, 3.0))]


def test_the_halves_of_a_circle_are_its_upper_and_its_lower_half() -> None:
    upper, lower = circle_edge((3.0, 4.0), 5.0).halves()
    assert upper.box == pytest.approx((-2.0, 4.0, 8.0, 9.0))
    assert lower.box == pytest.approx((-2.0, -1.0, 8.0, 4.0))
    assert (upper.distance_mm((3.0, 11.0)), lower.distance_mm((3.0, 11.0))) == pytest.approx((2.0, 74.0**0.5))


@pytest.mark.parametrize("turn_deg", [0.0, 17.0, 90.0, 211.0])
def test_contacts_do_not_depend_on_the_direction(turn_deg: float) -> None:
    """A bow tie, a tangent hole and a clean hole, in a disc turned about its centre."""
    c, s = cos(radians(turn_deg)), sin(radians(turn_deg))

    def turned(x: float, y: float) -> tuple[float, float]:
        return round(x * c - y * s, 9), round(x * s + y * c, 9)

    disc = Round(0.0, 0.0, 50.0)
    bow_tie = polygon(turned(10, 10), turned(20, 20), turned(20, 10), turned(10, 20))
    clean = Round(*turned(-20, 0), 5.0)
    tangent = Round(*turned(45, 0), 5.0)
    assert codes(text_of(CutSheet("d", (disc, clean)))) == set()
    assert codes(text_of(CutSheet("d", (disc,), (bow_tie,)))) == {"crossing"}
    assert codes(text_of(CutSheet("d", (disc, tangent)))) == {"crossing"}


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_a_damaged_file_is_never_more_than_a_finding(data: st.DataObject) -> None:
    """Bytes and whole values exchanged at random: the lint and the comparison answer, and never raise."""
    lines = text_of().split("\r\n")
    geometry = lines.index("ENTITIES")
    values = ("nan", "", "abc", "-1", "0", "1e400", "9" * 200, "1e-300", "LINE", "VERTEX", "100000.0", "inf")
    for _ in range(data.draw(st.integers(1, 3))):
        first, last = data.draw(st.sampled_from([(0, len(lines) - 1), (geometry, geometry + 260)]))
        lines[data.draw(st.integers(first, last))] = data.draw(st.sampled_from(values))
    damaged = bytearray("\r\n".join(lines).encode())
    for _ in range(data.draw(st.integers(0, 3))):
        damaged[data.draw(st.integers(0, len(damaged) - 1))] = data.draw(st.integers(0, 255))
    assert all(finding.cure for finding in lint(bytes(damaged)))
    assert all(differences(PLATE, bytes(damaged)))  # every difference says something


def grid(holes: int) -> bytes:
    """A plate with a square grid of holes."""
    side = round(holes**0.5)
    rounds = tuple(Round(10.0 + 12.0 * (i % side), 10.0 + 12.0 * (i // side), 3.0) for i in range(side * side))
    edge = 12.0 * side + 8.0
    return dxf_bytes(CutSheet("sieve", rounds, (rounded_rectangle(0.0, 0.0, edge, edge, 5.0),)))


def test_work_grows_with_the_number_of_holes() -> None:
    def lines_run(data: bytes) -> int:
        """How many lines of Python the lint runs through: a measure of work that no other program disturbs."""
        run = 0

        def count(frame: FrameType, event: str, argument: object) -> Callable[..., object]:
            nonlocal run
            run += event == "line"
            return count

        before = sys.gettrace()
        sys.settrace(count)
        try:
            flaws = lint(data)
        finally:
            sys.settrace(before)
        assert flaws == ()
        return run

    # Nine times the holes; a quadratic lint would run through eighty-one times as many lines.
    assert lines_run(grid(576)) < 12 * lines_run(grid(64))
