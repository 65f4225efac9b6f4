"""Drawings with faults in their chains and lines."""

from __future__ import annotations

import math

from ezdxf import math as em
from faulty_entry import (
    ALL,
    fault,
    replaced,
    tags,
)
from faulty_plate import (
    AREA,
    CUT,
    HOLES,
    QUARTER,
    WINDOW,
    Plate,
    outline,
)

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


@fault("a hole is there twice, on two layers", "doubled-edge", versions=ALL, mended=True)
def _(v: str) -> Plate:
    p = Plate(v)
    p.circle(*HOLES[0], layer="0")
    return p


@fault("an edge lies on a longer one of another layer", "overlapping-edge", versions=ALL)
def _(v: str) -> Plate:
    p = Plate(v)
    p.line((50, 40), (70, 40), layer="0")
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
    return replaced(v, "\nENTITIES\n", "\nENTITIES\n" + body)


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
