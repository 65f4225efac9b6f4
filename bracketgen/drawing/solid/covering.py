"""What hides what, asked of many points at once."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from bracketgen.drawing.solid.facet import Facet
from bracketgen.drawing.solid.viewpoint import Viewpoint
from bracketgen.geometry.frame import Vector

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
#: A surface must lie this much nearer to the eye to hide a point, mm.
_NEARER_MM = 0.05


def corners_of(facets: Sequence[Facet]) -> Floats:
    """The facets as triangles, (n, 3, 3)."""
    fans = [(f.points[0], f.points[k], f.points[k + 1]) for f in facets for k in range(1, len(f.points) - 1)]
    return np.array(fans, dtype=np.float64).reshape(-1, 3, 3)


def covered(points: Sequence[Vector], triangles: Floats, view: Viewpoint) -> Bools:
    """Which points are hidden by any of the triangles, (n, 3, 3)."""
    axes = np.array((view.right, view.up, view.toward)).T
    p = np.array(points, dtype=np.float64).reshape(-1, 3) @ axes
    a, b, c = np.moveaxis(triangles @ axes, 1, 0)
    area = _cross(b - a, c - a)
    seen = np.abs(area) > 1e-9
    a, b, c, area = a[seen], b[seen], c[seen], area[seen]
    to = p[:, None, :]
    # Shares of the triangle's corners in the point; all at least 0 means the point falls on it.
    second, third = _cross(to - a, c - a) / area, _cross(b - a, to - a) / area
    first = 1.0 - second - third
    depth = first * a[:, 2] + second * b[:, 2] + third * c[:, 2]
    least = np.minimum(np.minimum(first, second), third)
    hidden: Bools = np.any((least >= 0.0) & (depth > to[..., 2] + _NEARER_MM), axis=1)
    return hidden


def _cross(u: Floats, v: Floats) -> Floats:
    made: Floats = u[..., 0] * v[..., 1] - u[..., 1] * v[..., 0]
    return made


def middle_of(facet: Facet) -> Vector:
    """The mean of a facet's corners: a point within it."""
    xs, ys, zs = zip(*facet.points, strict=True)
    n = len(facet.points)
    return (sum(xs) / n, sum(ys) / n, sum(zs) / n)


def seen_area(facet: Facet, view: Viewpoint) -> float:
    """The area of a facet as it falls on the paper, mm2 of the model."""
    flat = [view.flat(p) for p in facet.points]
    return sum(a.cross(b) for a, b in zip(flat, (*flat[1:], flat[0]), strict=True)) / 2
