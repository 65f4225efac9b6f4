"""DXF files with one fault each, and clean ones, made by a general library in all its versions and as plain text.

The part is a plate for a filter head: 120 x 80 mm with corners of 8 mm, two round holes of 9 mm, and a window of
40 x 20 mm. Its area is worked out by hand.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

from ezdxf.lldxf.const import DXFError
from faulty_chains import ring
from faulty_entry import (
    ALL,
    FAULTS,
    Faulty,
    fault,
    plain,
    replaced,
    tags,
    text_line,
    text_ring,
)
from faulty_plate import (
    AREA,
    CORNER,
    CUT,
    HIGH,
    HOLES,
    VERSIONS,
    WIDE,
    WINDOW,
    Plate,
    outline,
)

__all__ = ["CLEAN", "FAULTS", "SQUARE", "Faulty", "Plate", "plain", "ring", "tags", "text_line", "text_ring"]

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


@fault("a radius with a comma", "not-finite", versions=ALL)
def _(v: str) -> str:
    return replaced(v, "\n 40\n4.5\n", "\n 40\n4,5\n")


@fault("a radius that is no number", "not-finite", versions=ALL)
def _(v: str) -> str:
    return replaced(v, "\n 40\n4.5\n", "\n 40\nnan\n")


@fault("a radius with an exponent", "exponent", versions=ALL, mended=True)
def _(v: str) -> str:
    return replaced(v, "\n 40\n4.5\n", "\n 40\n4.5e0\n")


@fault("a circle of radius 0", "degenerate", versions=ALL)
def _(v: str) -> str:
    return replaced(v, "\n 40\n4.5\n", "\n 40\n0.0\n")


@fault("a number beyond all bounds", "size", versions=ALL)
def _(v: str) -> str:
    return replaced(v, "\n 40\n4.5\n", "\n 40\n4.5e30\n")


@fault("a polyline of one point", "degenerate", versions=ALL)
def _(v: str) -> Plate:
    p = Plate(v)
    p.chain([(90, 50, 0)], close=False)
    return p


@fault("a wrong count of points", "point-count", mended=True)
def _(v: str) -> str:
    return replaced(v, "\n 90\n8\n", "\n 90\n9\n")


@fault("a file cut short", "unreadable", versions=ALL)
def _(v: str) -> bytes:
    data = Plate(v).data
    return data[: len(data) * 9 // 10]


@fault("a line that is missing", "unreadable", versions=ALL)
def _(v: str) -> str:
    return replaced(v, "\n  0\nCIRCLE\n", "\nCIRCLE\n")


@fault("an empty file", "unreadable", versions=("R12",))
def _(v: str) -> bytes:
    return b""


# -- plain text, the shortest there is


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
