"""A flat ring with holes as triangles between its own corners."""

from __future__ import annotations

import math
from collections.abc import Sequence

from bracketgen.errors import GeometryFault
from bracketgen.geometry.point import Point

Triangle = tuple[int, int, int]
#: Area that the triangles may miss, as a share of the whole: what is lost to rounding, and no sliver more.
_LOST = 1e-9


def triangles(rings: Sequence[Sequence[Point]]) -> list[Triangle]:
    """Anticlockwise triangles over the first ring less the others; corners are counted through all rings in order.

    Every side of a ring is a side of exactly one triangle, and no corner is added.
    Raises GeometryFault when the rings cross or touch.
    """
    import shapely

    area = shapely.Polygon(rings[0], rings[1:])
    if not area.is_valid:
        raise GeometryFault(f"no triangles: {shapely.is_valid_reason(area)}")
    place = {p: i for i, p in enumerate(p for ring in rings for p in ring)}
    if len(place) != sum(map(len, rings)):
        raise GeometryFault("no triangles: a corner stands twice")
    made = [
        _anticlockwise([Point(*c) for c in shapely.get_coordinates(t)[:3].tolist()], place)
        for t in shapely.constrained_delaunay_triangles(area).geoms
    ]
    corners = list(place)
    covered = math.fsum(_area(*(corners[i] for i in t)) for t in made)
    if not math.isclose(covered, area.area, rel_tol=_LOST):
        raise GeometryFault(f"no triangles: they cover {covered:g} of {area.area:g} mm2")
    return made


def _area(a: Point, b: Point, c: Point) -> float:
    return b.minus(a).cross(c.minus(a)) / 2


def _anticlockwise(corners: Sequence[Point], place: dict[Point, int]) -> Triangle:
    a, b, c = (place[p] for p in corners)
    return (a, b, c) if _area(*corners) > 0.0 else (a, c, b)
