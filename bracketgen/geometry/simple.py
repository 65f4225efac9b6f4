"""Whether a closed chain crosses or touches itself."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from bracketgen.errors import GeometryFault
from bracketgen.geometry.contour import Contour, Edge
from bracketgen.geometry.meet import meeting_points
from bracketgen.geometry.point import Point
from bracketgen.tolerances import SAME_POINT_MM

#: Carriers 50 mm round that miss true tangency by 1e-10 mm cross sqrt(2 x 50 x 1e-10) = 1e-4 mm beside their joint.
_JOINT_BLUR_MM = 1e-4


def self_meeting(chain: Contour) -> tuple[int, int, Point] | None:
    """The first two edges (counted from 0) that meet anywhere but at their shared vertex, and where."""
    edges = chain.edges
    boxes = np.array([e.bounds() for e in edges])
    lo, hi = boxes[:, :2] - SAME_POINT_MM, boxes[:, 2:] + SAME_POINT_MM
    for i in range(len(edges) - 1):
        near = np.all((lo[i + 1 :] <= hi[i]) & (hi[i + 1 :] >= lo[i]), axis=1)
        for j in np.flatnonzero(near) + i + 1:
            p = _stray_meeting(edges[i], edges[int(j)], _joints(edges, i, int(j)))
            if p is not None:
                return i, int(j), p
    return None


def _joints(edges: Sequence[Edge], i: int, j: int) -> list[Point]:
    """The vertices at which edges i < j follow each other; a vertex that others pass through is no joint."""
    after = [edges[j].start] if j == i + 1 else []
    return after + ([edges[i].start] if i == 0 and j == len(edges) - 1 else [])


def _stray_meeting(a: Edge, b: Edge, joints: list[Point]) -> Point | None:
    for p in meeting_points(a, b):
        # Near a smooth joint two carriers part so slowly that the computed meeting may lie beside the vertex.
        if all(p.distance(s) > _JOINT_BLUR_MM for s in joints):
            return p
    return None


def require_simple(chain: Contour, what: str) -> Contour:
    """The chain itself, or GeometryFault naming both edges and the place where they meet."""
    found = self_meeting(chain)
    if found is None:
        return chain
    i, j, p = found
    raise GeometryFault(f"{what}: edge {i + 1} and edge {j + 1} cross or touch", p)
