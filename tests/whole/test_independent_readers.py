"""Two readers that are not ours agree with the report on every written cut file.

Area, perimeter and bounds are worked out here from what the reader hands over, arcs by radius and included angle.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterator
from functools import cache
from typing import Any

import ezdxf
import pytest
from ezdxf.document import Drawing
from ezdxf.math import bulge_center, bulge_radius
from plain_dxf import Vertex, area, perimeter
from random_trees import random_tree
from sample_parts import sample_texts
from whole_way import whole_way

from bracketgen.errors import InputFaults, WriteFault

RANDOM_PARTS = 100
#: Numbers are written to 1e-9 mm; over a metre of edge that is this share of length and area.
SHARE = 1e-9


@cache
def written() -> list[tuple[str, bytes, dict[str, Any]]]:
    """Name, cut file, report of every sample, every shape and 100 random parts."""
    parts = [(name, whole_way(*told)) for name, told in sample_texts().items()]
    found = [(name, part.dxf, part.report) for name, part in parts]
    wanted, seed = len(found) + RANDOM_PARTS, 1_000_000
    while len(found) < wanted:
        seed += 1
        try:
            part = whole_way(random_tree(seed).text)
            found.append((f"seed {seed}", part.dxf, part.report))
        except (InputFaults, WriteFault):
            continue
    return found


def opened(data: bytes) -> Drawing:
    # Read as from a file opened for text, which turns CR LF into LF.
    doc = ezdxf.read(io.StringIO(data.decode("ascii").replace("\r\n", "\n")))
    assert not doc.audit().errors
    return doc


def polylines(doc: Drawing) -> Iterator[list[Vertex]]:
    for entity in doc.modelspace().query("LWPOLYLINE"):
        assert entity.closed
        yield [(float(x), float(y), float(b)) for x, y, b in entity.get_points("xyb")]


def circles(doc: Drawing) -> list[tuple[float, float, float]]:
    return [(c.dxf.center.x, c.dxf.center.y, c.dxf.radius) for c in doc.modelspace().query("CIRCLE")]


def extremes(points: list[Vertex]) -> Iterator[tuple[float, float]]:
    """Corners, and the points of arcs that lie farthest out along x or y."""
    for (ax, ay, bulge), (bx, by, _) in zip(points, [*points[1:], points[0]], strict=True):
        yield ax, ay
        if not bulge:
            continue
        centre, radius = bulge_center((ax, ay), (bx, by), bulge), bulge_radius((ax, ay), (bx, by), bulge)
        begin = math.atan2(ay - centre.y, ax - centre.x)
        sweep = 4 * math.atan(bulge)
        for quarter in range(4):
            angle = quarter * math.pi / 2
            ahead = (angle - begin) % math.tau if sweep > 0 else (begin - angle) % math.tau
            if ahead < abs(sweep):
                yield centre.x + radius * math.cos(angle), centre.y + radius * math.sin(angle)


@pytest.mark.parametrize("part", range(4), ids=["a", "b", "c", "d"])
def test_ezdxf_agrees(part: int) -> None:
    share = written()[part::4]
    assert len(share) >= RANDOM_PARTS // 4
    for name, data, report in share:
        doc = opened(data)
        chains, rounds = list(polylines(doc)), circles(doc)
        flat = report["flat"]
        areas = sorted([abs(area(c)) for c in chains] + [math.pi * r * r for *_, r in rounds], reverse=True)
        assert areas[0] - math.fsum(areas[1:]) == pytest.approx(flat["area_mm2"], rel=SHARE), name
        length = math.fsum(perimeter(c) for c in chains) + math.fsum(2 * math.pi * r for *_, r in rounds)
        assert length == pytest.approx(flat["cut_length_mm"], rel=SHARE), name
        assert len(chains) + len(rounds) == flat["pierces"] == len(doc.modelspace()), name
        # Every round hole is a circle, and every circle with the hole's (or its pilot's) diameter.
        told = sorted(h["pilot_mm"] or h["diameter_mm"] for h in report["holes"] if h["shape"] == "round")
        assert sorted(2 * r for *_, r in rounds)[-len(told) :] == pytest.approx(told, abs=1e-8), name
        check_bounds(doc, chains, rounds, flat["bounds_mm"], name)


def check_bounds(doc: Drawing, chains: list[list[Vertex]], rounds: Any, told: list[float], name: str) -> None:
    points = [p for c in chains for p in extremes(c)]
    points += [(x + a * r, y + b * r) for x, y, r in rounds for a, b in ((1, 0), (-1, 0), (0, 1), (0, -1))]
    xs, ys = zip(*points, strict=True)
    found = (min(xs), min(ys), max(xs), max(ys))
    assert found == pytest.approx(told, abs=1e-8), name
    low, high = doc.header["$EXTMIN"], doc.header["$EXTMAX"]
    assert (low[0], low[1], high[0], high[1]) == pytest.approx(found, abs=1e-8), name
    assert doc.header["$INSUNITS"] == 4


#: Degrees to a step when the reader turns arcs into short lines.
STEP_DEG = 0.1


@pytest.mark.oracle
def test_ogr_agrees() -> None:
    raw = pytest.importorskip("pyogrio.raw")
    shapely = pytest.importorskip("shapely")
    raw_options = pytest.importorskip("pyogrio")
    raw_options.set_gdal_config_options({"OGR_ARC_STEPSIZE": str(STEP_DEG)})
    step = math.radians(STEP_DEG)
    for name, data, report in written():
        lines = [shapely.from_wkb(g) for g in raw.read(data)[2]]
        assert all(line.is_closed for line in lines)
        flat = report["flat"]
        assert len(lines) == flat["pierces"], name
        areas = sorted((shapely.Polygon(line).area for line in lines), reverse=True)
        arcs = list(round_edges(opened(data)))
        # Chords of an arc of r and angle a lose r a s^2 / 24 of its length and r^2 a s^2 / 12 of its area.
        lost_mm = math.fsum(r * a for r, a in arcs) * step**2 / 24
        lost_mm2 = math.fsum(r * r * a for r, a in arcs) * step**2 / 12
        length = math.fsum(line.length for line in lines)
        assert -1.01 * lost_mm - 1e-6 <= length - flat["cut_length_mm"] <= 1e-6, name
        assert abs(areas[0] - math.fsum(areas[1:]) - flat["area_mm2"]) <= 1.01 * lost_mm2 + 1e-6, name
        x0, y0, x1, y1 = shapely.total_bounds(lines)
        # A chord's end may stand half a step beside the outermost point.
        largest = max((r for r, _ in arcs), default=0.0)
        assert [x0, y0, x1, y1] == pytest.approx(flat["bounds_mm"], abs=largest * step**2 / 8 + 1e-8), name


def round_edges(doc: Drawing) -> Iterator[tuple[float, float]]:
    """Radius and included angle of every arc and circle."""
    yield from ((r, math.tau) for *_, r in circles(doc))
    for points in polylines(doc):
        for (ax, ay, bulge), (bx, by, _) in zip(points, [*points[1:], points[0]], strict=True):
            if bulge:
                yield abs(bulge_radius((ax, ay), (bx, by), bulge)), abs(4 * math.atan(bulge))
