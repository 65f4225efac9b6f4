"""Holding a written cut file against the sheet it was written from."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import zip_longest
from math import fsum
from typing import TypeVar

from bracketgen.drawing.to_cut.cut_sheet import Bounds, Chain, Closure, CutSheet, Layer, Round, canonical
from bracketgen.files.group_codes import FileEntity, GroupCodeFault, GroupCodeFile, read_group_codes
from bracketgen.files.readback.contours import box_round
from bracketgen.files.readback.edges import Piece, pieces_of, polyline_vertices

M = TypeVar("M", Round, Chain)

#: Written numbers carry nine decimals (bulges twelve), so nothing may differ by more.
_VALUE = 1e-9
#: Bounds come from two different formulas for the same arcs.
_BOUNDS_MM = 1e-6
#: Area and length, as a part of themselves: both formulas, and the rounding of the written numbers.
_TOTALS = 1e-8


def differences(sheet: CutSheet, data: bytes) -> tuple[str, ...]:
    """Everything in which the file is not the sheet: entities one by one, bounds, area, length. None is right.

    The file is read by the independent reader. Never raises for what stands in the file.
    """
    try:
        file = read_group_codes(data)
        one_by_one = tuple(_entity_differences(canonical(sheet), file))
        # Sums of entities that are wrong anyway say nothing more, and may not be numbers at all.
        return one_by_one or tuple(_total_differences(sheet, file))
    except GroupCodeFault as fault:
        return (str(fault),)


def _entity_differences(sheet: CutSheet, file: GroupCodeFile) -> Iterator[str]:
    circles = [e for e in file.entities if e.kind == "CIRCLE"]
    polylines = [e for e in file.entities if e.kind == "LWPOLYLINE"]
    if len(circles) + len(polylines) != len(file.entities):
        yield "the file holds other entities than circles and polylines"
    yield from _pairwise(sheet.rounds, circles, "circle", _circle_differs)
    yield from _pairwise(sheet.chains, polylines, "polyline", _polyline_differs)


def _pairwise(
    model: tuple[M, ...], written: list[FileEntity], word: str, differs: Callable[[M, FileEntity], bool]
) -> Iterator[str]:
    if len(model) != len(written):
        yield f"{len(model)} {word}s in the sheet, {len(written)} in the file"
    for number, (item, entity) in enumerate(zip_longest(model, written), 1):
        if item is None or entity is None:
            return
        if item.layer.value != entity.layer or differs(item, entity):
            yield f"{word} {number} (line {entity.line}) is not the sheet's: {item}"


def _circle_differs(item: Round, entity: FileEntity) -> bool:
    written = (entity.number(10), entity.number(20), entity.number(40))
    return not _all_close((item.x_mm, item.y_mm, item.radius_mm), written)


def _polyline_differs(chain: Chain, entity: FileEntity) -> bool:
    written = polyline_vertices(entity)
    closed = entity.whole(70, 0) % 2 == 1
    if closed != (chain.closed is Closure.CLOSED) or len(written) != len(chain.points):
        return True
    return not all(_all_close(p, q) for p, q in zip(chain.points, written, strict=True))


def _all_close(one: tuple[float, ...], two: tuple[float, ...]) -> bool:
    return all(abs(a - b) <= _VALUE for a, b in zip(one, two, strict=True))


def _total_differences(sheet: CutSheet, file: GroupCodeFile) -> Iterator[str]:
    """What the file's own geometry adds up to, against the sheet as it was before any rounding."""
    pieces = tuple(pieces_of(file.entities))
    if not pieces:
        return
    drawn = box_round(edge.box for piece in pieces for edge in piece.edges)
    yield from _bounds_differences("bounds", sheet.bounds_mm, drawn)
    yield from _bounds_differences("extents in the header", sheet.bounds_mm, _header_bounds(file))
    cut = [piece for piece in pieces if piece.entity.layer == Layer.CUT.value]
    length = fsum(edge.length_mm for piece in cut for edge in piece.edges)
    if abs(length - sheet.cut_length_mm) > _TOTALS * max(1.0, length):
        yield f"cut length {sheet.cut_length_mm:.6f} mm in the sheet, {length:.6f} in the file"
    if cut:
        area, gross = _area_mm2(cut)
        if abs(area - sheet.area_mm2) > _TOTALS * max(1.0, gross):
            yield f"area {sheet.area_mm2:.6f} mm² in the sheet, {area:.6f} in the file"


def _bounds_differences(word: str, model: Bounds, written: Bounds) -> Iterator[str]:
    # Written so that a missing number (nan) counts as different.
    if not all(abs(a - b) <= _BOUNDS_MM for a, b in zip(model, written, strict=True)):
        yield f"{word} {model} in the sheet, {written} in the file"


def _header_bounds(file: GroupCodeFile) -> Bounds:
    corners = (("$EXTMIN", 10), ("$EXTMIN", 20), ("$EXTMAX", 10), ("$EXTMAX", 20))
    found = (file.header_number(name, code) for name, code in corners)
    x0, y0, x1, y1 = (float("nan") if value is None else value for value in found)
    return x0, y0, x1, y1


def _area_mm2(cut: list[Piece]) -> tuple[float, float]:
    """The largest contour less all others, and the largest alone."""
    areas = [abs(fsum(edge.area_share_mm2 for edge in piece.edges)) if piece.closes else 0.0 for piece in cut]
    return 2.0 * max(areas) - fsum(areas), max(areas)
