"""Writing the cut file as DXF: circles, lines and true arcs at nominal size, in millimetres.

The usual file is R2000 with circles and polylines; for readers that refuse it there are single lines and arcs, and
the older R12. The same sheet gives the same bytes on every machine: no clock, no user, no identifier of the moment.
What is written is read back by an independent reader, linted, and held against the sheet before it is handed out.
"""

from __future__ import annotations

import configparser
import math
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from enum import StrEnum
from io import StringIO
from itertools import zip_longest
from math import fsum
from typing import Any, TypeVar

from bracketgen.drawing.to_cut.cut_sheet import (
    LENGTH_DECIMALS,
    Bounds,
    Chain,
    Closure,
    CutSheet,
    Layer,
    Round,
    Vertex,
    canonical,
)
from bracketgen.errors import WriteFault
from bracketgen.files.contours import box_round, chains_of
from bracketgen.files.edges import Piece, pieces_of, polyline_vertices
from bracketgen.files.group_codes import FileEntity, GroupCodeFault, GroupCodeFile, read_group_codes
from bracketgen.files.lint import Flaw, lint

try:
    from ezdxf import options
    from ezdxf.document import Drawing
    from ezdxf.lldxf.const import DXF12
    from ezdxf.lldxf.tagwriter import TagWriter
except (configparser.Error, ValueError, SystemExit) as fault:
    # The library reads ezdxf.ini from the home and working folders while it is imported.
    raise WriteFault(f"an ezdxf.ini on this machine can't be read; remove or mend it: {fault}") from fault


class Dialect(StrEnum):
    """Which kind of DXF file."""

    USUAL = "r2000"
    LINES_AND_ARCS = "lines-arcs"
    R12 = "r12"

    def file_name(self, stem: str) -> str:
        """R12 has no place for the unit of its numbers, so the name says it."""
        return {"r2000": f"{stem}.dxf", "lines-arcs": f"{stem}-lines-arcs.dxf", "r12": f"{stem}-r12-mm.dxf"}[self.value]


#: Colour number of each layer (DXF Reference, group 62): 7 is black or white, 3 green, 5 blue. Own choice.
_COLOURS: Mapping[str, int] = {Layer.CUT: 7, Layer.MARK: 3, Layer.BEND: 5}
#: $INSUNITS 4 = mm, $MEASUREMENT 1 = metric, $LUNITS 2 = decimal; DXF Reference, header variables.
_UNITS = {"$INSUNITS": 4, "$MEASUREMENT": 1, "$LUNITS": 2}
#: What else of the header a reader of a flat cut file can use. All other variables (clocks, identifiers, dimension
#: styles) are left out, and readers take their own defaults.
_HEADER = {"$ACADVER", "$DWGCODEPAGE", "$INSBASE", "$EXTMIN", "$EXTMAX", "$LIMMIN", "$LIMMAX", "$CLAYER", "$LTSCALE"}
_HEADER |= {"$LUPREC", "$AUNITS", "$ANGBASE", "$ANGDIR", "$HANDSEED", "$TILEMODE", *_UNITS}
#: Shelves of objects that came up after R2000, and the library's own with the time and its version.
_UNUSED = (
    *("ACAD_COLOR", "ACAD_MATERIAL", "ACAD_MLEADERSTYLE", "ACAD_SCALELIST", "ACAD_TABLESTYLE", "ACAD_VISUALSTYLE"),
    "EZDXF_META",
)
#: Kinds of the objects left that an R2000 file has to declare.
_CLASSES = ("ACDBDICTIONARYWDFLT", "ACDBPLACEHOLDER", "LAYOUT")
#: Room left round the part in the saved view, as a part of its size. Own choice.
_VIEW_ROOM = 1.1
#: Decimals of radii and angles: on a radius of 1 m the end of an arc moves by less than 1e-10 mm.
_DECIMALS = 12
#: A line of the file that is a number with an exponent. Handles are upper case, and no name looks like this.
_EXPONENT = re.compile(r"^-?\d+(\.\d+)?e[+-]\d+$", re.MULTILINE)
#: How far sums over a file may be off: two formulas for the same sums, and the rounding of written numbers.
_TOTALS = 1e-8
_BOUNDS_MM = 1e-6


def verified_dxf(sheet: CutSheet, tolerated: frozenset[Flaw] = frozenset(), dialect: Dialect = Dialect.USUAL) -> bytes:
    """The bytes of the cut file, read back, linted and compared with the sheet.

    `tolerated` are flaws to let pass, for a part that is known to fail and is written on request.
    Raises WriteFault with every flaw and every difference, GeometryFault for an empty sheet.
    """
    data = dxf_bytes(sheet, dialect)
    # R12 has no header variable for the unit.
    passing = tolerated | {Flaw.UNITS} if dialect is Dialect.R12 else tolerated
    flaws = [str(finding) for finding in lint(data) if finding.code not in passing]
    other = differences(sheet, data) if dialect is Dialect.USUAL else _other_totals(sheet, data)
    if wrong := [*flaws, *other]:
        raise WriteFault(f"{dialect.file_name(sheet.name)} was not written:\n" + "\n".join(wrong))
    return data


def _other_totals(sheet: CutSheet, data: bytes) -> Iterator[str]:
    """What the cuts of a file add up to, whatever entities it is made of, against the sheet."""
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
        yield f"area {own.area_mm2:.6f} mm² in the sheet, {area:.6f} in the file"
    drawn = box_round(e.box for p in pieces for e in p.edges)
    if not all(abs(a - b) <= _BOUNDS_MM for a, b in zip(own.bounds_mm, drawn, strict=True)):
        yield f"bounds {own.bounds_mm} in the sheet, {drawn} in the file"


def dxf_bytes(sheet: CutSheet, dialect: Dialect = Dialect.USUAL) -> bytes:
    """The sheet as DXF text (ASCII, CR LF), unchecked. GeometryFault for an empty sheet."""
    sheet = canonical(sheet)
    layers = {layer.value: sheet.on(layer).items for layer in sheet.layers}
    return layered_dxf(layers, sheet.bounds_mm, dialect)


def layered_dxf(
    layers: Mapping[str, Sequence[Round | Chain]], bounds_mm: Bounds, dialect: Dialect = Dialect.USUAL
) -> bytes:
    """What lies on each layer, as DXF text (ASCII, CR LF), in the order given; unchecked.

    `bounds_mm` are those of all that is drawn: least x, least y, greatest x, greatest y.
    """
    document = _empty_document("R12" if dialect is Dialect.R12 else "R2000")
    for name in layers:
        document.layers.add(name, color=_COLOURS.get(name, _COLOURS[Layer.CUT]))
    space = document.modelspace()
    for name, items in layers.items():
        for item in items:
            _draw(space, item, {"layer": name}, dialect)
    _look_at(document, bounds_mm)
    _strip(document)
    stream = StringIO()
    # Not the library's own `write`: it stamps the file with the time and its version.
    document.export_sections(TagWriter(stream, document.dxfversion, write_handles=dialect is not Dialect.R12))
    return _EXPONENT.sub(_plain, stream.getvalue()).replace("\n", "\r\n").encode("ascii")


def _empty_document(version: str) -> Any:
    """The library stamps each document with the time, unless its settings say otherwise; they are put back."""
    switch = ("core", "WRITE_FIXED_META_DATA_FOR_TESTING")
    before = options.get(*switch)
    options.set(*switch, "true")
    try:
        document = Drawing.new(version)
    finally:
        options.set(*switch, before)
    document.layers.remove("Defpoints")
    return document


def _draw(space: Any, item: Round | Chain, on: dict[str, str], dialect: Dialect) -> None:
    if isinstance(item, Round):
        space.add_circle((item.x_mm, item.y_mm), item.radius_mm, on)
    elif dialect is Dialect.LINES_AND_ARCS:
        for a, b in item.edges():
            if a[2]:
                centre, *others = arc_of(a, b)
                place = [round(value, LENGTH_DECIMALS) + 0.0 for value in centre]
                space.add_arc(place, *(round(value, _DECIMALS) for value in others), dxfattribs=on)
            else:
                space.add_line(a[:2], b[:2], on)
    else:
        add = space.add_polyline2d if dialect is Dialect.R12 else space.add_lwpolyline
        add(item.points, format="xyb", close=item.closed is Closure.CLOSED, dxfattribs=on)


def arc_of(a: Vertex, b: Vertex) -> tuple[tuple[float, float], float, float, float]:
    """Centre, radius, and the angles (deg, 0 to 360) between which the arc turns anticlockwise.

    The arc runs from a to b with a's bulge, the tangent of a quarter of its included angle (DXF Reference). The
    library's own function differs in the last digit from one machine to another, by whether its compiled half runs.
    """
    (ax, ay, bulge), (bx, by, _) = a, b
    # Half the chord, times (1 - bulge²) / (2 bulge), to the left of the chord's middle lies the centre.
    lift = (1.0 - bulge * bulge) / (4.0 * bulge)
    cx, cy = (ax + bx) / 2 - lift * (by - ay), (ay + by) / 2 + lift * (bx - ax)
    radius = math.hypot(bx - ax, by - ay) * (1.0 + bulge * bulge) / (4.0 * abs(bulge))
    start, end = (math.degrees(math.atan2(y - cy, x - cx)) % 360.0 for x, y in ((ax, ay), (bx, by)))
    return ((cx, cy), radius, start, end) if bulge > 0 else ((cx, cy), radius, end, start)


def _look_at(document: Any, bounds_mm: Bounds) -> None:
    """Extents, limits, and a saved view of the part."""
    x0, y0, x1, y1 = (round(value, LENGTH_DECIMALS) + 0.0 for value in bounds_mm)
    # The view is at least as wide as high, so the larger side always fits.
    document.set_modelspace_vport(_VIEW_ROOM * max(x1 - x0, y1 - y0), (0.5 * (x0 + x1), 0.5 * (y0 + y1)))
    model, paper, header = document.modelspace(), document.paperspace(), document.header
    low, high = (x0, y0, 0.0), (x1, y1, 0.0)
    # The library's own update of the header passes over a corner at zero.
    header["$EXTMIN"], header["$EXTMAX"], header["$LIMMIN"], header["$LIMMAX"] = low, high, low[:2], high[:2]
    model.dxf.extmin, model.dxf.extmax, model.dxf.limmin, model.dxf.limmax = low, high, low[:2], high[:2]
    paper.dxf.extmin, paper.dxf.extmax = (0.0, 0.0, 0.0), (*paper.dxf.limmax, 0.0)


def _strip(document: Any) -> None:
    """Leaves out what a flat drawing has no use for, and all that tells of the moment; says the unit."""
    if document.dxfversion == DXF12:
        document.modelspace().block_record.block.discard_xdata("EZDXF")
    else:
        for name in _UNUSED:
            shelf = document.rootdict[name]
            # A shelf that owns its things takes them along.
            for thing in (*(thing for _, thing in shelf.items() if not shelf.is_hard_owner), shelf):
                document.objects.delete_entity(thing)
            document.rootdict.discard(name)
        for name in _CLASSES:
            document.classes.add_class(name)
    header = document.header
    for name, value in _UNITS.items():
        header[name] = value
    header["$HANDSEED"] = str(document.entitydb.handles)
    for name in header.varnames() - _HEADER:
        del header[name]


def _plain(number: re.Match[str]) -> str:
    """A number such as 1e-07 in plain decimals. The library writes all others so by itself."""
    text = f"{float(number[0]):.{_DECIMALS}f}".rstrip("0")
    return f"{text}0" if text.endswith(".") else text


# Holding a written cut file against the sheet it was written from.


M = TypeVar("M", Round, Chain)

#: Written numbers carry nine decimals (bulges twelve), so nothing may differ by more.
_VALUE = 1e-9
#: Bounds come from two different formulas for the same arcs.
_BOUNDS2 = 1e-6
#: Area and length, as a part of themselves: both formulas, and the rounding of the written numbers.
_TOTALS2 = 1e-8


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
    if abs(length - sheet.cut_length_mm) > _TOTALS2 * max(1.0, length):
        yield f"cut length {sheet.cut_length_mm:.6f} mm in the sheet, {length:.6f} in the file"
    if cut:
        area, gross = _area_mm2(cut)
        if abs(area - sheet.area_mm2) > _TOTALS2 * max(1.0, gross):
            yield f"area {sheet.area_mm2:.6f} mm² in the sheet, {area:.6f} in the file"


def _bounds_differences(word: str, model: Bounds, written: Bounds) -> Iterator[str]:
    # Written so that a missing number (nan) counts as different.
    if not all(abs(a - b) <= _BOUNDS2 for a, b in zip(model, written, strict=True)):
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
