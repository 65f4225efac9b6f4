"""Writing the cut file as DXF: circles, lines and true arcs at nominal size, in millimetres.

The usual file is R2000 with circles and polylines; for readers that refuse it there are single lines and arcs, and
the older R12. The same sheet gives the same bytes on every machine: no clock, no user, no identifier of the moment.
What is written is read back by an independent reader, linted, and held against the sheet before it is handed out.
"""

from __future__ import annotations

import configparser
import math
import re
from collections.abc import Iterator, Mapping, Sequence
from enum import StrEnum
from functools import lru_cache
from io import StringIO
from itertools import chain
from typing import Any

from bracketgen.drawing.cut_sheet import (
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
from bracketgen.files.edges import pieces_in, polyline_vertices
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
#: Name of the view that a drawing opens with; DXF Reference, VPORT.
_VIEW = "*Active"
#: Room left round the part in the saved view, as a part of its size. Own choice.
_VIEW_ROOM = 1.1
#: Decimals of radii and angles: on a radius of 1 m the end of an arc moves by less than 1e-10 mm.
_DECIMALS = 12
#: A line of the file that is a number with an exponent. Handles are upper case, and no name looks like this.
_EXPONENT = re.compile(r"^-?\d+(\.\d+)?e[+-]\d+$", re.MULTILINE)
#: Written numbers carry nine decimals (bulges twelve), so nothing may differ by more.
_VALUE = 1e-9
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
    if wrong := [*flaws, *differences(sheet, data, dialect)]:
        raise WriteFault(f"{dialect.file_name(sheet.name)} was not written:\n" + "\n".join(wrong))
    return data


def dxf_bytes(sheet: CutSheet, dialect: Dialect = Dialect.USUAL) -> bytes:
    """The sheet as DXF text (ASCII, CR LF), unchecked. GeometryFault for an empty sheet."""
    stamp, sheet = sheet.stamp, canonical(sheet)
    layers = {layer.value: sheet.on(layer).items for layer in sheet.layers}
    data = layered_dxf(layers, sheet.bounds_mm, dialect)
    # Group code 999 is a comment, which readers pass over; DXF Reference, 'Group codes in numerical order'.
    return f"999\r\n{stamp}\r\n".encode("ascii") + data if stamp else data


def layered_dxf(
    layers: Mapping[str, Sequence[Round | Chain]], bounds_mm: Bounds, dialect: Dialect = Dialect.USUAL
) -> bytes:
    """What lies on each layer, as DXF text (ASCII, CR LF), in the order given; unchecked.

    `bounds_mm` are those of all that is drawn: least x, least y, greatest x, greatest y.
    """
    document, free = _empty_document("R12" if dialect is Dialect.R12 else "R2000", tuple(layers))
    space = document.modelspace()
    try:
        for name, items in layers.items():
            for item in items:
                _draw(space, item, {"layer": name}, dialect)
        _look_at(document, bounds_mm)
        stream = StringIO()
        # Not the library's own `write`: it stamps the file with the time and its version.
        document.export_sections(TagWriter(stream, document.dxfversion, write_handles=dialect is not Dialect.R12))
    finally:
        space.delete_all_entities()
        if _VIEW in document.viewports:
            document.viewports.delete_config(_VIEW)
        document.entitydb.purge()
        document.entitydb.handles.reset(free)
    text = stream.getvalue()
    # Few files have one, and looking for it line by line takes long.
    text = _EXPONENT.sub(_plain, text) if "e-" in text or "e+" in text else text
    return text.replace("\n", "\r\n").encode("ascii")


@lru_cache(maxsize=4)
def _empty_document(version: str, layers: Sequence[str]) -> tuple[Any, str]:
    """A document to draw in and to empty again, since making one takes as long as all else; its first free handle.

    The library stamps each document with the time, unless its settings say otherwise; they are put back.
    """
    switch = ("core", "WRITE_FIXED_META_DATA_FOR_TESTING")
    before = options.get(*switch)
    options.set(*switch, "true")
    try:
        document = Drawing.new(version)
    finally:
        options.set(*switch, before)
    document.layers.remove("Defpoints")
    document.viewports.delete_config(_VIEW)
    for name in layers:
        document.layers.add(name, color=_COLOURS.get(name, _COLOURS[Layer.CUT]))
    _strip(document)
    return document, str(document.entitydb.handles)


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
    view = {"height": _VIEW_ROOM * max(x1 - x0, y1 - y0), "center": (0.5 * (x0 + x1), 0.5 * (y0 + y1))}
    document.viewports.new(_VIEW, dxfattribs=view).reset_wcs()
    model, paper, header = document.modelspace(), document.paperspace(), document.header
    low, high = (x0, y0, 0.0), (x1, y1, 0.0)
    header["$HANDSEED"] = str(document.entitydb.handles)
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
    for name in header.varnames() - _HEADER:
        del header[name]


def _plain(number: re.Match[str]) -> str:
    """A number such as 1e-07 in plain decimals. The library writes all others so by itself."""
    text = f"{float(number[0]):.{_DECIMALS}f}".rstrip("0")
    return f"{text}0" if text.endswith(".") else text


# -- the written file held against the sheet it was written from


def differences(sheet: CutSheet, data: bytes, dialect: Dialect = Dialect.USUAL) -> tuple[str, ...]:
    """Everything in which the file is not the sheet: entities one by one, bounds, area, length. None is right.

    The file is read by the independent reader. Never raises for what stands in the file.
    """
    try:
        file = read_group_codes(data)
        one_by_one = tuple(_entity_differences(canonical(sheet), file)) if dialect is Dialect.USUAL else ()
        # Sums of entities that are wrong anyway say nothing more, and may not be numbers at all.
        return one_by_one or tuple(_total_differences(sheet, file))
    except GroupCodeFault as fault:
        return (str(fault),)


def _entity_differences(sheet: CutSheet, file: GroupCodeFile) -> Iterator[str]:
    if any(entity.kind not in ("CIRCLE", "LWPOLYLINE") for entity in file.entities):
        yield "the file holds other entities than circles and polylines"
    rounds: list[tuple[Round | Chain, list[float]]] = [(r, [r.x_mm, r.y_mm, r.radius_mm]) for r in sheet.rounds]
    chains: list[tuple[Round | Chain, list[float]]] = [
        (c, [float(c.closed is Closure.CLOSED), *chain.from_iterable(c.points)]) for c in sheet.chains
    ]
    for word, kind, items in (("circle", "CIRCLE", rounds), ("polyline", "LWPOLYLINE", chains)):
        written = [entity for entity in file.entities if entity.kind == kind]
        if len(items) != len(written):
            yield f"{len(items)} {word}s in the sheet, {len(written)} in the file"
        for number, ((item, mine), entity) in enumerate(zip(items, written, strict=False), 1):
            theirs = _figures(entity)
            alike = len(mine) == len(theirs) and all(abs(a - b) <= _VALUE for a, b in zip(mine, theirs, strict=True))
            if item.layer.value != entity.layer or not alike:
                yield f"{word} {number} (line {entity.line}) is not the sheet's: {item}"


def _figures(entity: FileEntity) -> list[float]:
    """Centre and radius of a circle; of a polyline whether it closes, then x, y and bulge of each vertex."""
    if entity.kind == "CIRCLE":
        return [entity.number(code) for code in (10, 20, 40)]
    return [float(entity.whole(70, 0) % 2), *chain.from_iterable(polyline_vertices(entity))]


def _total_differences(sheet: CutSheet, file: GroupCodeFile) -> Iterator[str]:
    """What the file's own geometry adds up to, against the sheet as it was before any rounding."""
    pieces = pieces_in(file)
    if not pieces:
        return
    drawn = box_round(edge.box for piece in pieces for edge in piece.edges)
    header = tuple(math.nan if value is None else value for value in file.extents())
    for word, box in (("bounds", drawn), ("extents in the header", header)):
        # Written so that a missing number (nan) counts as different.
        if not all(abs(a - b) <= _BOUNDS_MM for a, b in zip(sheet.bounds_mm, box, strict=True)):
            yield f"{word} {sheet.bounds_mm} in the sheet, {box} in the file"
    cut = [piece for piece in pieces if piece.entity.layer == Layer.CUT.value]
    length = math.fsum(edge.length_mm for piece in cut for edge in piece.edges)
    if abs(length - sheet.cut_length_mm) > _TOTALS * max(1.0, length):
        yield f"cut length {sheet.cut_length_mm:.6f} mm in the sheet, {length:.6f} in the file"
    chains, closed = chains_of(cut), len(sheet.on(Layer.CUT).items)
    if len(chains.contours) != closed or chains.broken:
        yield f"{closed} closed cuts in the sheet, {len(chains.contours)} in the file"
    elif areas := [contour.area_mm2 for contour in chains.contours]:
        area = 2.0 * max(areas) - math.fsum(areas)
        if abs(area - sheet.area_mm2) > _TOTALS * max(1.0, *areas):
            yield f"area {sheet.area_mm2:.6f} mm² in the sheet, {area:.6f} in the file"
