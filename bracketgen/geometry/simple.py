"""Whether a closed chain crosses or touches itself."""

from __future__ import annotations

import numpy as np

from bracketgen.errors import GeometryFault
from bracketgen.geometry.contour import Contour, Edge
from bracketgen.geometry.meet import meeting_points
from bracketgen.geometry.point import Point
from bracketgen.tolerances import SAME_POINT_MM


def self_meeting(chain: Contour) -> tuple[int, int, Point] | None:
    """The first two edges (counted from 0) that meet anywhere but at their shared vertex, and where."""
    edges = chain.edges
    boxes = np.array([e.bounds() for e in edges])
    lo, hi = boxes[:, :2] - SAME_POINT_MM, boxes[:, 2:] + SAME_POINT_MM
    for i in range(len(edges) - 1):
        near = np.all((lo[i + 1 :] <= hi[i]) & (hi[i + 1 :] >= lo[i]), axis=1)
        for j in np.flatnonzero(near) + i + 1:
            p = _stray_meeting(edges[i], edges[int(j)])
            if p is not None:
                return i, int(j), p
    return None


def _stray_meeting(a: Edge, b: Edge) -> Point | None:
    shared = [p for p in (a.start, a.end) if min(p.distance(b.start), p.distance(b.end)) <= SAME_POINT_MM]
    for p in meeting_points(a, b):
        # Near a smooth joint two carriers part so slowly that the computed meeting may lie beside the vertex.
        if all(p.distance(s) > 1e-4 for s in shared):
            return p
    return None


def require_simple(chain: Contour, what: str) -> Contour:
    """The chain itself, or GeometryFault naming both edges and the place where they meet."""
    found = self_meeting(chain)
    if found is None:
        return chain
    i, j, p = found
    raise GeometryFault(f"{what}: edge {i + 1} and edge {j + 1} cross", p)
