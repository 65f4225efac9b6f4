"""Whether the folded part runs into itself.

Only the finished shape is looked at, not the way there: a part may pass here and still be impossible to bend. The metal
is taken as convex prisms: plates, and bends in straight slices. Every prism holds all of the metal it stands for and
at most CHORD_ERROR_MM more, so what is found apart is apart.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import numpy as np

from bracketgen.bending.fold import Folded, strip_frame
from bracketgen.errors import GeometryFault
from bracketgen.geometry.contour import Contour, Cut
from bracketgen.geometry.edge import Line
from bracketgen.geometry.prism import Prisms, depths_mm, near_pairs, shared_point
from bracketgen.geometry.scratch import ChordSide, polygon
from bracketgen.geometry.space import Frame, Vector
from bracketgen.part.part import Bend, Panel, Part, Way

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
    """The plate in triangles, without its openings; what takes a bolt counts as metal."""
    openings = [h.cut for h in panel.holes if h.shape.core is None]
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
        area = polygon(outline, openings, chord_error_mm=CHORD_ERROR_MM, side=ChordSide.OUTSIDE)
    except GeometryFault:
        # A web thinner than the chord error: to count the openings as metal is on the safe side.
        area = polygon(outline, chord_error_mm=CHORD_ERROR_MM, side=ChordSide.OUTSIDE)
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


#: Metal that shares less than this touches. Prisms stand out by up to CHORD_ERROR_MM each, so two bodies in
#: contact can seem to share twice as much.
TOUCH_MM = 2.5 * CHORD_ERROR_MM


@dataclass(frozen=True, slots=True)
class Collision:
    """Two pieces of the folded part, panels or bends by id, and a point in the part's frame that lies in both, mm."""

    a: str
    b: str
    at_mm: Vector


@dataclass(frozen=True, slots=True)
class _PieceOfMetal:
    """A panel or a bend: its rough prisms, and how to get the fine ones."""

    id: str
    rough: Prisms
    fine: Callable[[], Prisms]


def collisions(folded: Folded) -> tuple[Collision, ...]:
    """Every pair of pieces that are more than TOUCH_MM (0.05 mm) in each other; panels in order, then bends.

    A panel is not held against its own bends, with which it is one metal, but against the panels beyond them.
    Round holes and slots count as metal, other openings don't: a tab may pass through them.
    Raises GeometryFault for an outline that is narrower than 0.02 mm somewhere.
    """
    part = folded.part
    pieces = [_PieceOfMetal(p.id, coarse_panel(folded, p), partial(fine_panel, folded, p)) for p in part.panels]
    pieces += [_PieceOfMetal(b.id, coarse_strip(folded, b), partial(fine_strip, folded, b)) for b in part.bends]
    fine: dict[int, Prisms] = {}
    found = []
    for i, j in _suspects(part, pieces):
        for k in (i, j):
            if k not in fine:
                fine[k] = pieces[k].fine()
        at = _deepest(fine[i], fine[j])
        if at is not None:
            found.append(Collision(pieces[i].id, pieces[j].id, at))
    return tuple(found)


def _suspects(part: Part, pieces: list[_PieceOfMetal]) -> list[tuple[int, int]]:
    """Pairs of pieces whose rough prisms run into each other."""
    everything = Prisms.joined([p.rough for p in pieces])
    owner = np.repeat(np.arange(len(pieces)), [len(p.rough.corners) for p in pieces])
    i, j = near_pairs(everything, everything, TOUCH_MM)
    asked = _asked(part)[owner[i], owner[j]]
    i, j = i[asked], j[asked]
    if len(i) == 0:
        return []
    hit = depths_mm(everything, i, everything, j) > TOUCH_MM
    return sorted({(int(a), int(b)) for a, b in zip(owner[i[hit]], owner[j[hit]], strict=True)})


def _asked(part: Part) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
    """Which pairs are held against each other: each once, and no panel against its own bends."""
    count = len(part.panels) + len(part.bends)
    asked = np.triu(np.ones((count, count), dtype=np.bool_), 1)
    number = {p.id: n for n, p in enumerate(part.panels)}
    for n, bend in enumerate(part.bends, len(part.panels)):
        asked[number[bend.parent], n] = asked[number[bend.child], n] = False
    return asked


def _deepest(a: Prisms, b: Prisms) -> Vector | None:
    """A point shared by the two prisms that are deepest in each other; None when all only touch."""
    i, j = near_pairs(a, b, TOUCH_MM)
    if len(i) == 0:
        return None
    depth = depths_mm(a, i, b, j)
    worst = int(np.argmax(depth))
    if depth[worst] <= TOUCH_MM:
        return None
    return shared_point(a, int(i[worst]), b, int(j[worst]))
