"""Every shape in all three kinds of cut file: the same area, perimeter and holes by two readers, neither the writer's.

One reads group codes by itself, by the DXF Reference, and sums true arcs; the other is GDAL's, arcs as short chords.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

import pytest
from sample_parts import SHAPES
from whole_way import whole_way

from bracketgen.drawing.cut_sheet import cut_sheet
from bracketgen.files.dxf import Dialect, verified_dxf

SHAPE_FILES = sorted(SHAPES.glob("*.toml"))
#: Numbers are written to 1e-9 mm, joints are looked for within this.
JOINT_MM = 1e-6
#: Area and length of one shape by two readings that sum the same written numbers.
SHARE = 1e-8


@dataclass(frozen=True)
class Side:
    """From a to b, bulging by the tangent of a quarter of the included angle (DXF Reference, LWPOLYLINE)."""

    ax: float
    ay: float
    bx: float
    by: float
    bulge: float = 0.0

    @property
    def length(self) -> float:
        chord, turn = math.hypot(self.bx - self.ax, self.by - self.ay), abs(4 * math.atan(self.bulge))
        return chord if not turn else chord * turn / (2 * math.sin(turn / 2))

    @property
    def area(self) -> float:
        """Share of the area to the left, by the trapezoid under the chord and the segment beside it."""
        turn = 4 * math.atan(self.bulge)
        flat = (self.ax + self.bx) * (self.by - self.ay) / 2
        if not turn:
            return flat
        radius = math.hypot(self.bx - self.ax, self.by - self.ay) / (2 * math.sin(abs(turn) / 2))
        return flat + radius**2 / 2 * (turn - math.sin(turn))

    @property
    def back(self) -> Side:
        return Side(self.bx, self.by, self.ax, self.ay, -self.bulge)


@dataclass(frozen=True)
class Told:
    """What a reader found: contours, of which all but the largest are holes; their metal and their length."""

    contours: int
    area: float
    perimeter: float
    round_edges: tuple[tuple[float, float], ...] = ()


@cache
def written(stem: str) -> dict[Dialect, bytes]:
    text = (SHAPES / f"{stem}.toml").read_text(encoding="utf-8")
    sheet = cut_sheet(whole_way(text, str(SHAPES)).flat)
    return {dialect: verified_dxf(sheet, dialect=dialect) for dialect in Dialect}


def entities(data: bytes) -> Iterator[list[tuple[int, str]]]:
    """Group codes and values of each entity of the ENTITIES section that is cut."""
    lines = data.decode("ascii").splitlines()
    pairs = [(int(code), value.strip()) for code, value in zip(lines[::2], lines[1::2], strict=True)]
    begin = next(n for n, pair in enumerate(pairs) if pair == (2, "ENTITIES"))
    one: list[tuple[int, str]] = []
    for pair in pairs[begin + 1 :]:
        if pair[0] == 0:
            if one and (8, "CUT") in one:
                yield one
            one = []
            if pair[1] == "ENDSEC":
                return
        one.append(pair)


def sides_round(points: list[tuple[float, float, float]]) -> list[Side]:
    return [Side(a[0], a[1], b[0], b[1], a[2]) for a, b in zip(points, points[1:] + points[:1], strict=True)]


def contours_of(data: bytes) -> list[list[Side]]:
    """Closed rings of sides; a circle is four quarters."""
    rings: list[list[Side]] = []
    loose: list[Side] = []
    old: list[tuple[float, float, float]] | None = None
    for one in entities(data):
        kind, value = one[0][1], dict(one)
        number = {code: float(text) for code, text in value.items() if 10 <= code < 60}
        if kind == "CIRCLE":
            x, y, r = number[10], number[20], number[40]
            quarters = [(x + r, y), (x, y + r), (x - r, y), (x, y - r)]
            rings.append(sides_round([(*q, math.tan(math.pi / 8)) for q in quarters]))
        elif kind == "LINE":
            loose.append(Side(number[10], number[20], number[11], number[21]))
        elif kind == "ARC":
            loose.append(arc_side(number))
        elif kind == "LWPOLYLINE":
            assert int(value[70]) & 1
            rings.append(sides_round(vertices(one)))
        elif kind == "POLYLINE":
            assert int(value[70]) & 1 and old is None
            old = []
        elif kind == "VERTEX":
            assert old is not None
            old.append((number[10], number[20], number.get(42, 0.0)))
        else:
            assert kind == "SEQEND" and old
            rings.append(sides_round(old))
            old = None
    return [*rings, *chained(loose)]


def vertices(one: list[tuple[int, str]]) -> list[tuple[float, float, float]]:
    found: list[list[float]] = []
    for code, text in one:
        if code == 10:
            found.append([float(text), 0.0, 0.0])
        elif code in (20, 42):
            found[-1][1 if code == 20 else 2] = float(text)
    return [(x, y, bulge) for x, y, bulge in found]


def arc_side(number: dict[int, float]) -> Side:
    """An ARC runs anticlockwise from group 50 to group 51."""
    x, y, r = number[10], number[20], number[40]
    first, sweep = math.radians(number[50]), math.radians((number[51] - number[50]) % 360.0)
    ends = [(x + r * math.cos(a), y + r * math.sin(a)) for a in (first, first + sweep)]
    return Side(*ends[0], *ends[1], math.tan(sweep / 4))


def chained(loose: list[Side]) -> list[list[Side]]:
    """Rings of loose sides, end to end; none may be left over."""
    rings, left = [], list(loose)
    while left:
        ring = [left.pop()]
        while math.dist((ring[-1].bx, ring[-1].by), (ring[0].ax, ring[0].ay)) > JOINT_MM:
            end = (ring[-1].bx, ring[-1].by)
            n, following = next(
                (n, s) for n, own in enumerate(left) for s in (own, own.back) if math.dist(end, (s.ax, s.ay)) < JOINT_MM
            )
            del left[n]
            ring.append(following)
        rings.append(ring)
    return rings


def told_by_group_codes(data: bytes) -> Told:
    rings = contours_of(data)
    areas = [abs(math.fsum(s.area for s in ring)) for ring in rings]
    length = math.fsum(s.length for ring in rings for s in ring)
    arcs = tuple((s.length / turn, turn) for r in rings for s in r if (turn := abs(4 * math.atan(s.bulge))))
    return Told(len(rings), 2 * max(areas) - math.fsum(areas), length, arcs)


@pytest.mark.parametrize("path", SHAPE_FILES, ids=lambda p: p.stem)
def test_all_kinds_tell_the_same_by_their_group_codes(path) -> None:  # type: ignore[no-untyped-def]
    report = whole_way(path.read_text(encoding="utf-8"), str(SHAPES)).report["flat"]
    for dialect, data in written(path.stem).items():
        told = told_by_group_codes(data)
        assert told.contours == report["pierces"], dialect
        assert told.area == pytest.approx(report["area_mm2"], rel=SHARE), dialect
        assert told.perimeter == pytest.approx(report["cut_length_mm"], rel=SHARE), dialect


def end_to_end(lines: list[list[tuple[float, float]]]) -> list[list[tuple[float, float]]]:
    """Lines that meet at their ends as rings."""
    rings, left = [], list(lines)
    while left:
        ring = left.pop()
        while math.dist(ring[-1], ring[0]) > JOINT_MM:
            n, more = next((n, m) for n, own in enumerate(left) for m in (own, own[::-1])
                           if math.dist(ring[-1], m[0]) < JOINT_MM)  # fmt: skip
            del left[n]
            ring = [*ring, *more[1:]]
        rings.append(ring)
    return rings


#: Degrees to a step when GDAL turns arcs into short lines.
STEP_DEG = 0.1


@pytest.mark.oracle
@pytest.mark.parametrize("path", SHAPE_FILES, ids=lambda p: p.stem)
def test_all_kinds_tell_the_same_to_gdal(path) -> None:  # type: ignore[no-untyped-def]
    pyogrio = pytest.importorskip("pyogrio")
    raw, shapely = pytest.importorskip("pyogrio.raw"), pytest.importorskip("shapely")
    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": str(STEP_DEG)})
    step = math.radians(STEP_DEG)
    for dialect, data in written(path.stem).items():
        exact = told_by_group_codes(data)
        meta, _, shapes, fields = raw.read(data)
        layer = dict(zip(meta["fields"], fields, strict=True))["Layer"]
        lines = [shapely.from_wkb(s) for s, name in zip(shapes, layer, strict=True) if name == "CUT"]
        points = [[(x, y) for x, y, *_ in line.coords] for line in lines]
        rings = sorted((shapely.Polygon(ring) for ring in end_to_end(points)), key=lambda r: r.area)
        assert len(rings) == exact.contours, dialect
        # Chords of an arc of r and angle a lose r a s^2 / 24 of its length and r^2 a s^2 / 12 of its area.
        lost_mm = 1.01 * math.fsum(r * a for r, a in exact.round_edges) * step**2 / 24 + 1e-6
        lost_mm2 = 1.01 * math.fsum(r * r * a for r, a in exact.round_edges) * step**2 / 12 + 1e-6
        area = 2 * rings[-1].area - math.fsum(r.area for r in rings)
        assert abs(math.fsum(r.length for r in rings) - exact.perimeter) <= lost_mm, dialect
        assert abs(area - exact.area) <= lost_mm2, dialect
