"""The stretch of x that a bent panel's own table asks its bend to take."""

from __future__ import annotations

from bracketgen.description.making.bends.seat import Span
from bracketgen.description.model.panels import DiscOutline, PanelTable, PolygonOutline
from bracketgen.errors import GeometryFault


def own_foot(table: PanelTable, setback_mm: float) -> Span | None:
    """The stretch in the panel's frame, mm; None where the panel is as wide as its bend. Raises GeometryFault."""
    outline = table.outline
    if isinstance(outline, PolygonOutline):
        return _foot_of_polygon(outline, setback_mm)
    if isinstance(outline, DiscOutline):
        raise GeometryFault("a disc has no straight edge to bend on", None, "use a belt, a polygon or a rectangle")
    if outline.width is None:
        return None
    left = own_left(table, outline.width)
    return Span(left, left + outline.width)


def own_left(table: PanelTable, width_mm: float) -> float:
    """x of the left end: as told, or as the panel's origin puts it."""
    left = getattr(table.outline, "left", None)
    if left is not None:
        return float(left)
    return {"left": 0.0, "middle": -width_mm / 2, "right": -width_mm}[table.origin]


def _foot_of_polygon(outline: PolygonOutline, setback_mm: float) -> Span:
    """The polygon's width where the child's tangent line crosses it, above its edge on y = 0."""
    corners = [c.at for c in outline.corners]
    edges = list(zip(corners, corners[1:] + corners[:1], strict=True))
    for i, (a, b) in enumerate(edges):
        if abs(a[1]) < 1e-6 and abs(b[1]) < 1e-6:
            before, after = edges[i - 1], edges[(i + 1) % len(edges)]
            xs = sorted((_x_at(before[1], before[0], setback_mm), _x_at(after[0], after[1], setback_mm)))
            return Span(xs[0], xs[1])
    raise GeometryFault("the polygon has no edge on y = 0", None, "a bent panel's foot is the edge with y = 0")


def _x_at(low: tuple[float, float], high: tuple[float, float], y: float) -> float:
    """x of the edge that rises from `low` (y = 0), at a height; an edge that ends below it is taken as upright."""
    if high[1] <= y or y <= 0:
        return low[0]
    return low[0] + (high[0] - low[0]) * y / high[1]
