"""The folded metal as convex prisms: plates, and bends in straight slices.

Every prism holds all of the metal it stands for and at most CHORD_ERROR_MM more, so what is found apart is apart.
"""

from __future__ import annotations

import math

import numpy as np

from bracketgen.bending.fold import Folded, strip_frame
from bracketgen.errors import GeometryFault
from bracketgen.geometry.contour import Contour, Cut
from bracketgen.geometry.frame import Frame
from bracketgen.geometry.line import Line
from bracketgen.geometry.prism import Prisms
from bracketgen.geometry.scratch import Side, polygon
from bracketgen.part.bend import Bend, Way
from bracketgen.part.hole import HoleShape
from bracketgen.part.panel import Panel

#: How far a straight slice or a chord may stand out of the true metal.
CHORD_ERROR_MM = 0.02
_WIDEST_SLICE_DEG = 15.0
_COARSE_SLICE_DEG = 45.0

Shape = list[tuple[float, float]]


def coarse_panel(folded: Folded, panel: Panel) -> Prisms:
    """The plate's bounding box in the panel's own frame."""
    x0, y0, x1, y1 = panel.outline.bounds()
    box = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    return Prisms.extruded(folded.frames[panel.id], [box], -folded.part.stock.thickness_mm, 0.0)


def fine_panel(folded: Folded, panel: Panel) -> Prisms:
    """The plate in triangles, without its openings; round holes and slots count as metal."""
    openings = [h.cut for h in panel.holes if h.shape is HoleShape.OUTLINE]
    if not openings and _is_upright_box(panel.outline):
        return coarse_panel(folded, panel)
    return Prisms.extruded(
        folded.frames[panel.id], _triangles(panel.outline, openings), -folded.part.stock.thickness_mm, 0.0
    )


def _is_upright_box(outline: Contour) -> bool:
    x0, y0, x1, y1 = outline.bounds()
    straight = len(outline.edges) == 4 and all(isinstance(e, Line) for e in outline.edges)
    return straight and abs(outline.area - (x1 - x0) * (y1 - y0)) < 1e-9


def _triangles(outline: Contour, openings: list[Cut]) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    import shapely

    try:
        area = polygon(outline, openings, chord_error_mm=CHORD_ERROR_MM, side=Side.OUTSIDE)
    except GeometryFault:
        # A web thinner than the chord error: to count the openings as metal is on the safe side.
        area = polygon(outline, chord_error_mm=CHORD_ERROR_MM, side=Side.OUTSIDE)
    rings = shapely.get_coordinates(shapely.constrained_delaunay_triangles(area))
    # Each ring comes with its first corner again at its end: the doubled corner that a triangle needs.
    return rings.reshape(-1, 4, 2)


def coarse_strip(folded: Folded, bend: Bend) -> Prisms:
    """The bend in slices of up to 45 deg, circumscribed."""
    return _slices(folded, bend, math.ceil(bend.turn_deg / _COARSE_SLICE_DEG - 1e-9))


def fine_strip(folded: Folded, bend: Bend) -> Prisms:
    """The bend in slices of up to 15 deg, and no wider than the chord error allows."""
    outer = bend.inside_radius_mm + folded.part.stock.thickness_mm
    by_error = 2 * math.degrees(math.acos(outer / (outer + CHORD_ERROR_MM)))
    return _slices(folded, bend, math.ceil(bend.turn_deg / min(_WIDEST_SLICE_DEG, by_error) - 1e-9))


def _slices(folded: Folded, bend: Bend, count: int) -> Prisms:
    strip = strip_frame(bend, folded.frames[bend.parent])
    # Cross-sections are drawn in the strip's y-z plane and run along its x.
    across = Frame(strip.origin, strip.y, strip.z, strip.x)
    r, t = bend.inside_radius_mm, folded.part.stock.thickness_mm
    step = math.radians(bend.turn_deg) / count
    outer = (r + t) / math.cos(step / 2)
    shapes = [
        [_section(bend, t, r, n * step), _section(bend, t, r, (n + 1) * step),
         _section(bend, t, outer, (n + 1) * step), _section(bend, t, outer, n * step)]
        for n in range(count)
    ]  # fmt: skip
    return Prisms.extruded(across, shapes, 0.0, bend.width_mm)


def _section(bend: Bend, thickness_mm: float, radius_mm: float, turned_rad: float) -> tuple[float, float]:
    """A point of the bend's section, y and z in the strip's frame, `radius_mm` from the axis of the bend."""
    y, drop = radius_mm * math.sin(turned_rad), radius_mm * math.cos(turned_rad)
    if bend.way is Way.UP:
        return y, bend.inside_radius_mm - drop
    return y, drop - bend.inside_radius_mm - thickness_mm
