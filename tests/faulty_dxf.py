"""DXF files with one fault each, and clean ones, made by a general library in all its versions and as plain text.

The part is a plate for a filter head: 120 x 80 mm with corners of 8 mm, two round holes of 9 mm, and a window of
40 x 20 mm. Its area is worked out by hand.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from ezdxf import math as em
from ezdxf.lldxf.const import DXFError
from faulty_plate import (
    AREA,
    CORNER,
    CUT,
    HIGH,
    HOLES,
    NEW,
    QUARTER,
    VERSIONS,
    WIDE,
    WINDOW,
    Plate,
    outline,
)


@dataclass(frozen=True)
class Faulty:
    """A kind of fault: which codes it gives (all and only these), how it is made, and what mending does.

    `mended`: the new file is clean; `area`: of the plate once it is mended (None: not worth a figure).
    """

    kind: str
    codes: frozenset[str]
    make: Callable[[str], bytes]
    versions: tuple[str, ...] = NEW
    mended: bool = False
    area: float | None = None
    limits: dict[str, Any] = field(default_factory=dict)


FAULTS: list[Faulty] = []


def fault(
    kind: str,
    *codes: str,
    versions: tuple[str, ...] = NEW,
    mended: bool = False,
    area: float | None = AREA,
    **limits: Any,
) -> Callable[[Callable[[str], Plate | bytes | str]], Callable[[str], Plate | bytes | str]]:
    """Enters the function as the maker of a fault."""

    def enter(make: Callable[[str], Plate | bytes | str]) -> Callable[[str], Plate | bytes | str]:
        def data(version: str) -> bytes:
            made = make(version)
            return made.data if isinstance(made, Plate) else made.encode() if isinstance(made, str) else made

        FAULTS.append(Faulty(kind, frozenset(codes), data, versions, mended, area, limits))
        return make

    return enter


ALL = VERSIONS
SLACK = {"area": None}


# -- chains that don't close, and what joins them


@fault("a window's side is missing", "open-chain", versions=ALL)
def _(v: str) -> Plate:
    p = Plate(v, "window")
    p.lines(WINDOW)
    return p


@fault("a window's corner gapes by 0.03 mm", "gap", versions=ALL, mended=True)
def _(v: str) -> Plate:
    p = Plate(v, "window")
    p.lines([*WINDOW, (40.0, 40.03)])
    return p


@fault("a polyline is not closed and ends 0.02 mm short of its start", "gap", versions=ALL, mended=True)
def _(v: str) -> Plate:
    p = Plate(v, "outline")
    first = outline()
    p.chain([*first[:-1], (0.0, 8.0, QUARTER), (7.99, 0.0173, 0)], close=False)
    return p


@fault("a polyline whose closed flag is missing", "open-chain", versions=ALL)
def _(v: str) -> Plate:
    p = Plate(v, "window")
    p.chain([(*q, 0) for q in WINDOW], close=False)
    return p


@fault("a polyline that closes by its points alone", "closed-flag", versions=ALL, mended=True)
def _(v: str) -> Plate:
    p = Plate(v, "window")
    p.chain([(*q, 0) for q in (*WINDOW, WINDOW[0])], close=False)
    return p


@fault("a closed polyline that repeats its first point", "repeated-first-point", versions=ALL, mended=True)
def _(v: str) -> Plate:
    p = Plate(v, "window")
    p.chain([(*q, 0) for q in (*WINDOW, WINDOW[0])])
    return p


@fault("an arc that misses its line by 0.04 mm", "gap", versions=ALL, mended=True, area=None)
def _(v: str) -> Plate:
    p = Plate(v, "window")
    p.space.add_arc((60.0, 50.0), 10.0, 0.0, 180.0, dxfattribs=CUT)
    p.line((50.0, 50.0), (70.04, 50.0))
    return p


@fault("a stray line inside the part", "open-chain", versions=ALL)
def _(v: str) -> Plate:
    p = Plate(v)
    p.line((90.0, 50.0), (100.0, 55.0))
    return p


@fault("three lines that meet in one point", "junction", "open-chain", versions=ALL)
def _(v: str) -> Plate:
    p = Plate(v, "window")
    p.lines([*WINDOW, WINDOW[0]])
    p.line(WINDOW[0], (35.0, 35.0))
    return p


# -- what lies twice, or on something else


@fault("a hole is there twice", "doubled-edge", versions=ALL, mended=True)
def _(v: str) -> Plate:
    p = Plate(v)
    p.circle(*HOLES[0])
    return p


@fault("a line is there twice, the second time backwards", "doubled-edge", versions=ALL, mended=True)
def _(v: str) -> Plate:
    p = Plate(v, "window")
    p.lines([*WINDOW, WINDOW[0]])
    p.line(WINDOW[1], WINDOW[0])
    return p


@fault("the whole window is there twice", "doubled-edge", versions=ALL, mended=True)
def _(v: str) -> Plate:
    p = Plate(v)
    p.chain([(*q, 0) for q in reversed(WINDOW)])
    return p


@fault("a line lies along part of another", "overlapping-edge", versions=ALL)
def _(v: str) -> Plate:
    p = Plate(v)
    p.line((45.0, 40.0), (70.0, 40.0))
    return p


@fault("an arc lies along part of a hole", "overlapping-edge", versions=ALL)
def _(v: str) -> Plate:
    p = Plate(v)
    p.space.add_arc((15.0, 20.0), 4.5, 30.0, 200.0, dxfattribs=CUT)
    return p


@fault("a contour that runs back over itself", "overlapping-edge", versions=ALL)
def _(v: str) -> Plate:
    p = Plate(v, "window")
    p.chain([(40, 40, 0), (80, 40, 0), (80, 60, 0), (80, 50, 0), (40, 60, 0)])
    return p


@fault("a hole that crosses the window", "crossing", versions=ALL)
def _(v: str) -> Plate:
    p = Plate(v)
    p.circle(80.0, 50.0, 3.0)
    return p


@fault("a hole that touches the edge", "crossing", versions=ALL)
def _(v: str) -> Plate:
    p = Plate(v)
    p.circle(95.0, 77.0, 3.0)
    return p


@fault("a window like a bow tie", "crossing", versions=ALL)
def _(v: str) -> Plate:
    p = Plate(v, "window")
    p.chain([(40, 40, 0), (80, 60, 0), (80, 40, 0), (40, 60, 0)])
    return p


@fault("a contour in the window", "nested", versions=ALL)
def _(v: str) -> Plate:
    p = Plate(v)
    p.circle(60.0, 50.0, 5.0)
    return p


@fault("a second part beside the first", "outside-outline", versions=ALL)
def _(v: str) -> Plate:
    p = Plate(v)
    p.circle(160.0, 40.0, 20.0)
    return p


# -- lines that are too short, curves that are none


@fault("a line of 0.02 mm in the window", "tiny-edge", versions=ALL, mended=True)
def _(v: str) -> Plate:
    p = Plate(v, "window")
    p.chain([(40, 40, 0), (80, 40, 0), (80, 59.98, 0), (80, 60, 0), (40, 60, 0)])
    return p


@fault("a line of no length", "tiny-edge", versions=ALL, mended=True)
def _(v: str) -> Plate:
    p = Plate(v, "window")
    p.chain([(40, 40, 0), (80, 40, 0), (80, 60, 0), (80, 60, 0), (40, 60, 0)])
    return p


def ring(x: float, y: float, r: float, count: int, places: int = 6) -> list[tuple[float, float, float]]:
    """Corners on a circle."""
    steps = (2.0 * math.pi * k / count for k in range(count))
    return [(round(x + r * math.cos(a), places), round(y + r * math.sin(a), places), 0.0) for a in steps]


@fault("a hole of 48 short lines", "faceted-arc", versions=ALL, mended=True, area=AREA - math.pi * 64.0)
def _(v: str) -> Plate:
    p = Plate(v)
    p.chain(ring(95.0, 50.0, 8.0, 48))
    return p


@fault(
    "a hole of 100 loose lines to two decimals", "faceted-arc", versions=ALL, mended=True, area=AREA - math.pi * 64.0
)
def _(v: str) -> Plate:
    p = Plate(v)
    corners = ring(95.0, 50.0, 8.0, 100, 2)
    p.lines([c[:2] for c in (*corners, corners[0])])
    return p


@fault("a rounded end of short lines", "faceted-arc", versions=ALL, mended=True)
def _(v: str) -> Plate:
    p = Plate(v, "outline")
    corners = [(112 + 8 * math.cos(a), 72 + 8 * math.sin(a), 0) for a in (math.pi / 24 * k for k in range(13))]
    o = outline()
    p.chain([*o[:3], *corners, *o[5:]])
    return p


@fault("an ellipse", "ellipse", mended=True, area=AREA - math.pi * 8.0 * 4.0)
def _(v: str) -> Plate:
    p = Plate(v)
    p.space.add_ellipse((95.0, 50.0), (8.0, 0.0), 0.5, dxfattribs=CUT)
    return p


@fault("a turned ellipse that is a circle", "ellipse", mended=True, area=AREA - math.pi * 64.0)
def _(v: str) -> Plate:
    p = Plate(v)
    p.space.add_ellipse((95.0, 50.0), (0.0, 8.0), 1.0, dxfattribs=CUT)
    return p


@fault("a spline that is a circle", "spline", mended=True, area=AREA - math.pi * 36.0)
def _(v: str) -> Plate:
    p = Plate(v)
    curve = em.rational_bspline_from_arc((95.0, 50.0), 6.0, 0.0, 360.0)
    p.space.add_spline(dxfattribs=CUT).apply_construction_tool(curve)
    return p


@fault("a closed free spline", "spline", mended=True, area=None)
def _(v: str) -> Plate:
    p = Plate(v)
    controls = [(90, 45), (100, 44), (104, 50), (98, 58), (88, 55)]
    p.space.add_spline(dxfattribs=CUT).apply_construction_tool(em.closed_uniform_bspline(controls))
    return p


@fault("a spline by fit points alone, closed by a line", "spline", mended=True, area=None)
def _(v: str) -> Plate:
    p = Plate(v)
    p.space.add_spline([(88, 45), (92, 54), (100, 52), (104, 45)], dxfattribs=CUT)
    p.line((88, 45), (104, 45))
    return p


@fault("an arc that goes all the way round", "full-arc", versions=ALL, mended=True)
def _(v: str) -> Plate:
    p = Plate(v, "hole 1")
    p.space.add_arc((15.0, 20.0), 4.5, 0.0, 360.0, dxfattribs=CUT)
    return p


@fault("a hole of two half circles", "split-circle", versions=ALL, mended=True)
def _(v: str) -> Plate:
    p = Plate(v, "hole 1")
    p.chain([(10.5, 20, 1), (19.5, 20, 1)])
    return p


@fault("an arc of bulge 1.5", "bulge-too-big", versions=ALL, mended=True, area=None)
def _(v: str) -> Plate:
    p = Plate(v)
    p.chain([(93, 50, 1.5), (97, 50, 0)])
    return p


# -- what has no place in a cut file


@fault("a text", "text", versions=ALL, mended=True)
def _(v: str) -> Plate:
    p = Plate(v)
    p.space.add_text("THIS SIDE UP", height=4, dxfattribs=CUT).set_placement((30, 70))
    return p


@fault("a text of several lines", "text", mended=True)
def _(v: str) -> Plate:
    p = Plate(v)
    p.space.add_mtext("4 off\\PS235", dxfattribs=CUT).set_location((30, 70))
    return p


@fault("a dimension", "dimension", versions=ALL, mended=True)
def _(v: str) -> Plate:
    p = Plate(v)
    p.doc.dimstyles  # noqa: B018  # the table is made when it is first asked for
    p.space.add_linear_dim((60, -10), (0, 0), (120, 0), dxfattribs=CUT).render()
    return p


@fault("a leader", "dimension", mended=True)
def _(v: str) -> Plate:
    p = Plate(v)
    p.space.add_leader([(15, 20), (25, 30)], dxfattribs=CUT)
    return p


@fault("a hatch", "hatch", mended=True)
def _(v: str) -> Plate:
    p = Plate(v)
    p.space.add_hatch(dxfattribs=CUT).paths.add_polyline_path([(20, 60), (30, 60), (30, 70)], is_closed=True)
    return p


@fault("a filled area", "hatch", versions=ALL, mended=True)
def _(v: str) -> Plate:
    p = Plate(v)
    p.space.add_solid([(20, 60), (30, 60), (20, 70), (30, 70)], dxfattribs=CUT)
    return p


@fault("a point", "point", versions=ALL, mended=True)
def _(v: str) -> Plate:
    p = Plate(v)
    p.space.add_point((15, 20), dxfattribs=CUT)
    return p


@fault("a line without end", "guide-line", mended=True)
def _(v: str) -> Plate:
    p = Plate(v)
    p.space.add_xline((60, 40), (0, 1), dxfattribs=CUT)
    return p


@fault("a ray", "guide-line", mended=True)
def _(v: str) -> Plate:
    p = Plate(v)
    p.space.add_ray((60, 40), (0, 1), dxfattribs=CUT)
    return p


@fault("a face in space", "three-d", versions=ALL)
def _(v: str) -> Plate:
    p = Plate(v)
    p.space.add_3dface([(20, 60, 0), (30, 60, 0), (30, 70, 5)], dxfattribs=CUT)
    return p


@fault("a mesh", "three-d", versions=ALL)
def _(v: str) -> Plate:
    p = Plate(v)
    p.space.add_polyface(dxfattribs=CUT).append_face([(20, 60, 0), (30, 60, 0), (30, 70, 5)])
    return p


@fault("a solid body", "three-d", versions=("R2000", "R2010"))
def _(v: str) -> str:
    body = tags((0, "3DSOLID"), (5, "FFF"), (100, "AcDbEntity"), (8, "CUT"), (100, "AcDbModelerGeometry"), (70, 1))
    return _replaced(v, "\nENTITIES\n", "\nENTITIES\n" + body)


@fault("a picture", "picture", mended=True)
def _(v: str) -> Plate:
    p = Plate(v)
    definition = p.doc.add_image_def("badge.png", (100, 100))
    p.space.add_image(definition, (20, 60), (10, 10), dxfattribs=CUT)
    return p


@fault("a kind of line that few programs know", "unknown-entity")
def _(v: str) -> Plate:
    p = Plate(v)
    p.space.add_mline([(20, 62), (35, 62)], dxfattribs=CUT)
    return p


@fault("a hole on the paper sheet", "paper-space", versions=ALL, mended=True)
def _(v: str) -> Plate:
    p = Plate(v)
    p.doc.paperspace().add_circle((20, 20), 5, dxfattribs=CUT)
    return p


# -- blocks


def _block(p: Plate, name: str = "BOLT") -> str:
    p.doc.blocks.new(name).add_circle((0, 0), 4.5, dxfattribs=CUT)
    return name


@fault("a hole as a block", "block", versions=ALL, mended=True)
def _(v: str) -> Plate:
    p = Plate(v, "hole 1")
    p.space.add_blockref(_block(p), HOLES[0][:2], dxfattribs=CUT)
    return p


@fault("the whole part as a turned and mirrored block", "block", versions=ALL, mended=True)
def _(v: str) -> Plate:
    p = Plate(v, "outline", "window", "hole 1", "hole 2")
    inside = Plate(v)
    block = p.doc.blocks.new("PART")
    for entity in inside.space:
        block.add_foreign_entity(entity)
    p.space.add_blockref("PART", (300, 200), dxfattribs=CUT | {"rotation": 33, "xscale": -1})
    return p


@fault("a block in a block", "block", versions=ALL, mended=True)
def _(v: str) -> Plate:
    p = Plate(v, "hole 1", "hole 2")
    inner, outer = _block(p), p.doc.blocks.new("PAIR")
    outer.add_blockref(inner, (0, 0))
    outer.add_blockref(inner, (45, 0))
    p.space.add_blockref("PAIR", (15, 20), dxfattribs=CUT | {"xscale": 2, "yscale": 2})
    p.doc.blocks.get(inner).query("CIRCLE").first.dxf.radius = 2.25
    return p


@fault("rows and columns of a block", "block", versions=ALL, mended=True, area=AREA - 6 * math.pi * 4.0)
def _(v: str) -> Plate:
    p = Plate(v)
    p.doc.blocks.new("SIEVE").add_circle((0, 0), 2, dxfattribs=CUT)
    grid = {"column_count": 3, "row_count": 2, "column_spacing": 8, "row_spacing": 7}
    p.space.add_blockref("SIEVE", (88, 48), dxfattribs=CUT | grid)
    return p


@fault("a stretched block", "block", "stretched-block", versions=ALL, mended=True, area=AREA - math.pi * 9.0 * 4.5)
def _(v: str) -> Plate:
    p = Plate(v)
    p.space.add_blockref(_block(p), (95, 50), dxfattribs=CUT | {"xscale": 2, "rotation": 20})
    return p


@fault("a block with an attribute", "block", "text", versions=ALL, mended=True)
def _(v: str) -> Plate:
    p = Plate(v, "hole 1")
    ref = p.space.add_blockref(_block(p), HOLES[0][:2], dxfattribs=CUT)
    ref.add_attrib("SIZE", "M8", (20, 30))
    return p


@fault("a block that is not in the file", "block", "missing-block", versions=ALL)
def _(v: str) -> Plate:
    p = Plate(v)
    p.space.add_blockref("ELSEWHERE", (15, 20), dxfattribs=CUT)
    return p


@fault("a block that contains itself", "block", "missing-block", versions=ALL)
def _(v: str) -> Plate:
    p = Plate(v)
    p.doc.blocks.new("LOOP").add_blockref("LOOP", (1, 1))
    p.space.add_blockref("LOOP", (15, 20), dxfattribs=CUT)
    return p


# -- space


@fault("a hole at z = 3", "z-not-zero", versions=ALL, mended=True)
def _(v: str) -> Plate:
    p = Plate(v, "hole 1")
    p.space.add_circle((15, 20, 3), 4.5, dxfattribs=CUT)
    return p


@fault("a polyline lifted off the plane", "z-not-zero", versions=ALL, mended=True)
def _(v: str) -> Plate:
    p = Plate(v, "window")
    high: Any = (0, 0, 2) if v == "R12" else 2
    p.chain([(*q, 0) for q in WINDOW], elevation=high)
    return p


@fault("lines that rise", "z-not-zero", versions=ALL, mended=True)
def _(v: str) -> Plate:
    p = Plate(v, "window")
    a, b, c, d = WINDOW
    p.lines([a, b, c])
    p.line(c, (*d, 1.5))
    p.line((*d, 1.5), a)
    return p


@fault("a circle with a thickness", "z-not-zero", versions=ALL, mended=True)
def _(v: str) -> Plate:
    p = Plate(v, "hole 1")
    p.circle(*HOLES[0], thickness=4)
    return p


@fault("a hole seen from below", "extrusion", versions=ALL, mended=True)
def _(v: str) -> Plate:
    p = Plate(v, "hole 1")
    p.space.add_circle((-15, 20), 4.5, dxfattribs=CUT | {"extrusion": (0, 0, -1)})
    return p


@fault("an outline seen from below", "extrusion", versions=ALL, mended=True)
def _(v: str) -> Plate:
    p = Plate(v, "outline")
    p.chain([(-x, y, -b) for x, y, b in outline()], extrusion=(0, 0, -1))
    return p


@fault("a hole that stands upright", "tilted", versions=ALL)
def _(v: str) -> Plate:
    p = Plate(v)
    p.space.add_circle((90, 50), 3, dxfattribs=CUT | {"extrusion": (1, 0, 0)})
    return p


# -- units, size, place


@fault("no unit", "units", mended=True)
def _(v: str) -> Plate:
    return Plate(v, units=0)


@fault("no unit because the version has no place for it", "units", versions=("R12",), mended=True, unit=None)
def _(v: str) -> Plate:
    return Plate(v)


@fault("inches", "units", mended=True)
def _(v: str) -> Plate:
    return Plate(v, units=1, scale=1 / 25.4)


@fault("a unit of the stars", "units", mended=True)
def _(v: str) -> Plate:
    return Plate(v, units=18)


@fault("metric and inch at once", "units-unclear", mended=True)
def _(v: str) -> Plate:
    p = Plate(v)
    p.doc.header["$MEASUREMENT"] = 0
    return p


@fault("inch numbers called mm: 25.4 times too small", "size", versions=ALL)
def _(v: str) -> Plate:
    return Plate(v, "hole 1", "hole 2", scale=1 / 25.4)


@fault("metre numbers called mm: 1000 times too small", "size", "tiny-edge", versions=ALL)
def _(v: str) -> Plate:
    return Plate(v, scale=0.001)


@fault("mm numbers called inch: 25.4 times too large", "size", "units")
def _(v: str) -> Plate:
    return Plate(v, units=1)


@fault("far from the origin", "far-away", versions=ALL)
def _(v: str) -> Plate:
    p = Plate(v, "outline", "window", "hole 1", "hole 2")
    p.chain(outline(400_000.0, 5_300_000.0))
    return p


def _extents(version: str, *corners: float) -> str:
    """The plate with other extents in the header than the library's empty ones."""
    text = Plate(version).data.decode()
    for old, new in zip(("\n1e+20\n", "\n1e+20\n", "\n-1e+20\n", "\n-1e+20\n"), corners, strict=True):
        name = "$EXTMIN" if old == "\n1e+20\n" else "$EXTMAX"
        at = text.index(old, text.index(name))
        text = f"{text[:at]}\n{new}\n{text[at + len(old) :]}"
    return text


@fault("extents of another unit", "extents", versions=ALL, mended=True)
def _(v: str) -> str:
    return _extents(v, 0.0, 0.0, WIDE * 25.4, HIGH * 25.4)


@fault("extents that leave out half of the part", "extents", versions=ALL, mended=True)
def _(v: str) -> str:
    return _extents(v, 0.0, 0.0, 60.0, 80.0)


@fault("nothing to cut", "empty", versions=ALL)
def _(v: str) -> Plate:
    return Plate(v, "outline", "window", "hole 1", "hole 2")


# -- layers and ways of drawing


@fault("a layer name with blanks and accents", "layer-name", mended=True)
def _(v: str) -> Plate:
    p = Plate(v, "hole 1")
    p.doc.layers.add("découpe 2 mm")
    p.circle(*HOLES[0], layer="découpe 2 mm")
    return p


@fault("a layer that is not declared", "undeclared-layer", versions=ALL, mended=True)
def _(v: str) -> Plate:
    p = Plate(v, "hole 1")
    p.circle(*HOLES[0], layer="DRILL")
    return p


@fault("one contour on two layers", "mixed-layers", versions=ALL, mended=True)
def _(v: str) -> Plate:
    p = Plate(v, "window")
    p.doc.layers.add("EDGES")
    a, b, c, d = WINDOW
    p.lines([a, b, c, d])
    p.line(d, a, layer="EDGES")
    return p


@fault("a hole on a layer that is off", "hidden", versions=ALL, mended=True)
def _(v: str) -> Plate:
    p = Plate(v)
    p.doc.layers.add("OLD").off()
    p.circle(95, 50, 5, layer="OLD")
    return p


@fault("a hole on a frozen layer", "hidden", versions=ALL, mended=True)
def _(v: str) -> Plate:
    p = Plate(v)
    p.doc.layers.add("OLD").freeze()
    p.circle(95, 50, 5, layer="OLD")
    return p


@fault("an invisible hole", "hidden", mended=True)
def _(v: str) -> Plate:
    p = Plate(v)
    p.circle(95, 50, 5, invisible=1)
    return p


@fault("a dashed line", "dashed-line", versions=ALL, mended=True)
def _(v: str) -> Plate:
    p = Plate(v, "hole 1")
    p.doc.linetypes.add("DASHED", [6.0, 4.0, -2.0])
    p.circle(*HOLES[0], linetype="DASHED")
    return p


@fault("a dashed layer", "dashed-line", versions=ALL, mended=True)
def _(v: str) -> Plate:
    p = Plate(v, "hole 1")
    p.doc.linetypes.add("DASHED", [6.0, 4.0, -2.0])
    p.doc.layers.add("BROKEN", linetype="DASHED")
    p.circle(*HOLES[0], layer="BROKEN")
    return p


@fault("a wide line", "wide-line", mended=True)
def _(v: str) -> Plate:
    p = Plate(v, "window")
    p.chain([(*q, 0) for q in WINDOW], const_width=1.0)
    return p


# -- limits of the process: 4 mm by laser


LASER = {"process": "laser", "thickness_mm": 4.0}


@fault("a hole that is too small", "small-hole", versions=ALL, **LASER)
def _(v: str) -> Plate:
    p = Plate(v)
    p.circle(95, 50, 0.75)
    return p


@fault("a slot that is too narrow", "narrow-slot", versions=ALL, **LASER)
def _(v: str) -> Plate:
    p = Plate(v)
    p.chain([(90, 50, 0), (104, 50, 1), (104, 51, 0), (90, 51, 1)])
    return p


@fault("too little metal beside a hole", "thin-web", versions=ALL, **LASER)
def _(v: str) -> Plate:
    p = Plate(v)
    p.circle(95, 74, 5)
    return p


@fault("a neck that is too thin", "thin-web", versions=ALL, **LASER)
def _(v: str) -> Plate:
    p = Plate(v, "outline", "window", "hole 1", "hole 2")
    p.chain([(0, 0, 0), (40, 0, 0), (40, 19, 0), (60, 19, 0), (60, 0, 0), (100, 0, 0), (100, 40, 0), (60, 40, 0),
             (60, 20, 0), (40, 20, 0), (40, 40, 0), (0, 40, 0)])  # fmt: skip
    return p


@fault(
    "a thickness beyond the standard's scope",
    "thickness",
    "small-hole",
    "thin-web",
    "narrow-slot",
    process="laser",
    thickness_mm=40.0,
)
def _(v: str) -> Plate:
    return Plate(v)


# -- broken text


def _replaced(version: str, old: str, new: str) -> str:
    text = Plate(version).data.decode()
    assert text.count(old) >= 1, old
    return text.replace(old, new, 1)


@fault("a radius with a comma", "not-finite", versions=ALL)
def _(v: str) -> str:
    return _replaced(v, "\n 40\n4.5\n", "\n 40\n4,5\n")


@fault("a radius that is no number", "not-finite", versions=ALL)
def _(v: str) -> str:
    return _replaced(v, "\n 40\n4.5\n", "\n 40\nnan\n")


@fault("a radius with an exponent", "exponent", versions=ALL, mended=True)
def _(v: str) -> str:
    return _replaced(v, "\n 40\n4.5\n", "\n 40\n4.5e0\n")


@fault("a circle of radius 0", "degenerate", versions=ALL)
def _(v: str) -> str:
    return _replaced(v, "\n 40\n4.5\n", "\n 40\n0.0\n")


@fault("a number beyond all bounds", "size", versions=ALL)
def _(v: str) -> str:
    return _replaced(v, "\n 40\n4.5\n", "\n 40\n4.5e30\n")


@fault("a polyline of one point", "degenerate", versions=ALL)
def _(v: str) -> Plate:
    p = Plate(v)
    p.chain([(90, 50, 0)], close=False)
    return p


@fault("a wrong count of points", "point-count", mended=True)
def _(v: str) -> str:
    return _replaced(v, "\n 90\n8\n", "\n 90\n9\n")


@fault("a file cut short", "unreadable", versions=ALL)
def _(v: str) -> bytes:
    data = Plate(v).data
    return data[: len(data) * 9 // 10]


@fault("a line that is missing", "unreadable", versions=ALL)
def _(v: str) -> str:
    return _replaced(v, "\n  0\nCIRCLE\n", "\nCIRCLE\n")


@fault("an empty file", "unreadable", versions=("R12",))
def _(v: str) -> bytes:
    return b""


# -- plain text, the shortest there is


def plain(*entities: str, header: str = "  9\n$INSUNITS\n 70\n4\n") -> str:
    """A file of nothing but a header and entities."""
    return (
        f"  0\nSECTION\n  2\nHEADER\n{header}  0\nENDSEC\n  0\nSECTION\n  2\nENTITIES\n{''.join(entities)}"
        "  0\nENDSEC\n  0\nEOF\n"
    )


def tags(*pairs: tuple[int, object]) -> str:
    """Group codes and values."""
    return "".join(f"{code:>3}\n{value}\n" for code, value in pairs)


def text_line(x0: float, y0: float, x1: float, y1: float, layer: str = "0") -> str:
    """A LINE."""
    return tags((0, "LINE"), (8, layer), (10, x0), (20, y0), (11, x1), (21, y1))


def text_ring(*points: tuple[float, float]) -> str:
    """Lines round."""
    return "".join(text_line(*a, *b) for a, b in zip(points, (*points[1:], points[0]), strict=True))


SQUARE = ((0.0, 0.0), (100.0, 0.0), (100.0, 60.0), (0.0, 60.0))


@fault("plain text: a corner overshoots by 0.02 mm", "gap", versions=("text",), mended=True, area=6000.0)
def _(v: str) -> str:
    return plain(
        text_ring(*SQUARE[:3]).rsplit("  0\nLINE", 1)[0], text_line(100, 60, -0.02, 60), text_line(0, 60.02, 0, 0)
    )


@fault("plain text: a fitted polyline", "fitted-polyline", versions=("text",), mended=True, area=None)
def _(v: str) -> str:
    frame = [tags((0, "VERTEX"), (8, 0), (10, x), (20, y), (70, 16)) for x, y in ((0, 0), (50, 90), (100, 0))]
    curve = [(0, 0), (30, 40), (50, 47), (70, 41), (100, 0)]
    fitted = [tags((0, "VERTEX"), (8, 0), (10, x), (20, y), (70, 8)) for x, y in curve]
    head = tags((0, "POLYLINE"), (8, 0), (66, 1), (70, 5))
    return plain(head, *frame, *fitted, tags((0, "SEQEND")))


@fault("plain text: no header, no unit", "units", versions=("text",), mended=True, area=6000.0)
def _(v: str) -> str:
    return plain(text_ring(*SQUARE), header="")


@fault("plain text: a width in an old polyline", "wide-line", versions=("text",), mended=True, area=6000.0)
def _(v: str) -> str:
    vertices = [tags((0, "VERTEX"), (8, 0), (10, x), (20, y)) for x, y in SQUARE]
    head = tags((0, "POLYLINE"), (8, 0), (66, 1), (70, 1), (40, 2.0), (41, 2.0))
    return plain(head, *vertices, tags((0, "SEQEND")))


# -- clean files


def _exploded(v: str) -> Plate:
    """The outline as loose lines and arcs, in no order and in both directions."""
    p = Plate(v, "outline")
    r, w, h = CORNER, WIDE, HIGH
    p.line((w - r, h), (r, h))
    p.line((0, r), (0, h - r))
    p.line((r, 0), (w - r, 0))
    p.line((w, r), (w, h - r))
    for x, y, first in ((w - r, h - r, 0), (r, h - r, 90), (r, r, 180), (w - r, r, 270)):
        p.space.add_arc((x, y), r, first, first + 90, dxfattribs=CUT)
    return p


def _with_marks(v: str) -> Plate:
    p = Plate(v)
    for name in ("BEND", "etched marks".replace(" ", "_")):
        p.doc.layers.add(name)
    p.line((0, 70), (120, 70), layer="BEND")
    p.line((100, 60), (110, 90), layer="etched_marks")
    return p


def _with_octagon(v: str) -> Plate:
    p = Plate(v)
    p.chain(ring(95, 50, 7, 8))
    p.chain(ring(25, 60, 5, 6))
    return p


def _with_unused_block(v: str) -> Plate:
    p = Plate(v)
    _block(p)
    return p


def _with_half_round_slot(v: str) -> Plate:
    p = Plate(v)
    p.chain([(90, 48, 0), (104, 48, 1), (104, 54, 0), (90, 54, 1)])
    return p


CLEAN: dict[str, Callable[[str], Plate]] = {
    "plate": Plate,
    "loose lines and arcs": _exploded,
    "bend lines and marks": _with_marks,
    "octagon and hexagon": _with_octagon,
    "a block that is not used": _with_unused_block,
    "slot with half round ends": _with_half_round_slot,
}

__all__ = ["AREA", "CLEAN", "FAULTS", "VERSIONS", "DXFError", "Faulty", "Plate"]
