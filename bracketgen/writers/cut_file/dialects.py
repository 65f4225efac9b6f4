"""The same cut sheet for readers that refuse the usual file: as single lines and arcs, or as the older R12.

Each dialect has its own entities; a file is never converted from another. What is written is read back by the
independent reader and held against the sheet: contours, length, area, bounds.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from enum import StrEnum

from bracketgen.drawing.to_cut.cut_sheet import (
    BULGE_DECIMALS,
    Chain,
    Closure,
    CutSheet,
    Layer,
    Round,
    Vertex,
    canonical,
)
from bracketgen.errors import WriteFault
from bracketgen.writers.cut_file.dxf import assembled, circle_text, entity_head, fixed, point_text, tag, verified_dxf
from bracketgen.writers.cut_file.group_codes import read_group_codes
from bracketgen.writers.readback.contours import box_round, chains_of
from bracketgen.writers.readback.edges import pieces_of

#: As a part of themselves: two formulas for the same sums, and the rounding of written numbers and angles.
_TOTALS = 1e-8
_BOUNDS_MM = 1e-6
#: Decimals of a degree: on a radius of 1 m the end of an arc moves by less than 1e-10 mm.
_DEGREE_DECIMALS = 12
_R12_COLOURS = {Layer.CUT: 7, Layer.MARK: 3, Layer.BEND: 5}


class Dialect(StrEnum):
    """Which kind of DXF file."""

    USUAL = "r2000"
    LINES_AND_ARCS = "lines-arcs"
    R12 = "r12"

    def file_name(self, stem: str) -> str:
        """R12 has no place for the unit of its numbers, so the name says it."""
        return {"r2000": f"{stem}.dxf", "lines-arcs": f"{stem}-lines-arcs.dxf", "r12": f"{stem}-r12-mm.dxf"}[self.value]


def dialect_bytes(sheet: CutSheet, dialect: Dialect) -> bytes:
    """The sheet in a dialect, checked. Raises WriteFault with every difference."""
    if dialect is Dialect.USUAL:
        return verified_dxf(sheet)
    clean = canonical(sheet)
    data = _r12(clean) if dialect is Dialect.R12 else assembled(clean, _exploded(clean))
    wrong = list(_differences(clean, data))
    if wrong:
        raise WriteFault(f"{dialect.file_name(sheet.name)} was not written:\n" + "\n".join(wrong))
    return data


def _edges(chain: Chain) -> Iterator[tuple[Vertex, Vertex]]:
    points = chain.points
    last = len(points) if chain.closed is Closure.CLOSED else len(points) - 1
    for i in range(last):
        yield points[i], points[(i + 1) % len(points)]


def _exploded(sheet: CutSheet) -> Iterator[str]:
    for layer in sheet.layers:
        own = sheet.on(layer)
        yield from map(circle_text, own.rounds)
        for chain in own.chains:
            for a, b in _edges(chain):
                yield _arc(a, b, layer) if a[2] else _line(a, b, layer)


def _line(a: Vertex, b: Vertex, layer: Layer) -> str:
    start = tag(10, fixed(a[0])) + tag(20, fixed(a[1])) + tag(30, "0.0")
    end = tag(11, fixed(b[0])) + tag(21, fixed(b[1])) + tag(31, "0.0")
    return entity_head("LINE", layer.value) + tag(100, "AcDbLine") + start + end


def _arc(a: Vertex, b: Vertex, layer: Layer) -> str:
    (cx, cy), radius, first, last = arc_of(a, b)
    return (
        entity_head("ARC", layer.value)
        + tag(100, "AcDbCircle")
        + point_text(cx, cy)
        + tag(30, "0.0")
        + tag(40, fixed(radius, BULGE_DECIMALS))
        + tag(100, "AcDbArc")
        + tag(50, fixed(first, _DEGREE_DECIMALS))
        + tag(51, fixed(last, _DEGREE_DECIMALS))
    )


def arc_of(a: Vertex, b: Vertex) -> tuple[tuple[float, float], float, float, float]:
    """Centre, radius, and the angles (deg, 0 to 360) between which the arc turns anticlockwise.

    The arc runs from a to b with a's bulge, the tangent of a quarter of its included angle (DXF Reference).
    """
    (ax, ay, bulge), (bx, by, _) = a, b
    # Half the chord, times (1 - bulge2) / (2 bulge), to the left of the chord's middle lies the centre.
    lift = (1.0 - bulge * bulge) / (4.0 * bulge)
    cx, cy = (ax + bx) / 2 - lift * (by - ay), (ay + by) / 2 + lift * (bx - ax)
    radius = math.hypot(bx - ax, by - ay) * (1.0 + bulge * bulge) / (4.0 * abs(bulge))
    start, end = (math.degrees(math.atan2(y - cy, x - cx)) % 360.0 for x, y in ((ax, ay), (bx, by)))
    return ((cx, cy), radius, start, end) if bulge > 0 else ((cx, cy), radius, end, start)


def _r12(sheet: CutSheet) -> bytes:
    x0, y0, x1, y1 = sheet.bounds_mm
    header = tag(9, "$ACADVER") + tag(1, "AC1009")
    for name, (x, y) in (("$EXTMIN", (x0, y0)), ("$EXTMAX", (x1, y1))):
        header += tag(9, name) + point_text(x, y) + tag(30, "0.0")
    header += tag(9, "$LUNITS") + tag(70, "2")
    layers = "".join(
        tag(0, "LAYER") + tag(2, layer.value) + tag(70, "0") + tag(62, str(_R12_COLOURS[layer])) + tag(6, "CONTINUOUS")
        for layer in sheet.layers
    )
    line_type = "".join(
        tag(code, value)
        for code, value in ((0, "LTYPE"), (2, "CONTINUOUS"), (70, "0"), (3, "Solid line"), (72, "65"), (73, "0"))
    ) + tag(40, "0.0")
    tables = _table("LTYPE", 1, line_type) + _table("LAYER", len(sheet.layers), layers)
    drawn = "".join(_r12_entities(sheet))
    text = _section("HEADER", header) + _section("TABLES", tables) + _section("ENTITIES", drawn) + tag(0, "EOF")
    return text.encode("ascii")


def _section(name: str, body: str) -> str:
    return tag(0, "SECTION") + tag(2, name) + body + tag(0, "ENDSEC")


def _table(name: str, count: int, body: str) -> str:
    return tag(0, "TABLE") + tag(2, name) + tag(70, str(count)) + body + tag(0, "ENDTAB")


def _r12_entities(sheet: CutSheet) -> Iterator[str]:
    for layer in sheet.layers:
        own = sheet.on(layer)
        for item in own.rounds:
            yield _r12_circle(item)
        for chain in own.chains:
            yield _r12_polyline(chain)


def _r12_circle(item: Round) -> str:
    place = point_text(item.x_mm, item.y_mm) + tag(30, "0.0")
    return tag(0, "CIRCLE") + tag(8, item.layer.value) + place + tag(40, fixed(item.radius_mm))


def _r12_polyline(chain: Chain) -> str:
    layer = tag(8, chain.layer.value)
    closed = "1" if chain.closed is Closure.CLOSED else "0"
    head = tag(0, "POLYLINE") + layer + tag(66, "1") + point_text(0.0, 0.0) + tag(30, "0.0") + tag(70, closed)
    body = "".join(
        tag(0, "VERTEX")
        + layer
        + point_text(x, y)
        + tag(30, "0.0")
        + (tag(42, fixed(bulge, BULGE_DECIMALS)) if bulge else "")
        for x, y, bulge in chain.points
    )
    return head + body + tag(0, "SEQEND") + layer


def _differences(sheet: CutSheet, data: bytes) -> Iterator[str]:
    """What the file's own geometry adds up to, against the sheet."""
    pieces = tuple(p for p in pieces_of(read_group_codes(data).entities) if p.entity.layer == Layer.CUT.value)
    own = sheet.on(Layer.CUT)
    chains = chains_of(pieces)
    if len(chains.contours) != len(own.items) or chains.leaves or chains.junctions:
        yield f"{len(own.items)} closed cuts in the sheet, {len(chains.contours)} in the file"
        return
    length = math.fsum(e.length_mm for p in pieces for e in p.edges)
    if abs(length - own.cut_length_mm) > _TOTALS * length:
        yield f"cut length {own.cut_length_mm:.6f} mm in the sheet, {length:.6f} in the file"
    areas = [abs(c.area_mm2) for c in chains.contours]
    area = 2 * max(areas) - math.fsum(areas)
    if abs(area - own.area_mm2) > _TOTALS * max(areas):
        yield f"area {own.area_mm2:.6f} mm2 in the sheet, {area:.6f} in the file"
    drawn = box_round(e.box for p in pieces for e in p.edges)
    if not all(abs(a - b) <= _BOUNDS_MM for a, b in zip(own.bounds_mm, drawn, strict=True)):
        yield f"bounds {own.bounds_mm} in the sheet, {drawn} in the file"
