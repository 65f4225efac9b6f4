"""Facets from the farthest to the nearest, cut where they pass through each other.

The plane of one facet parts all others into those behind it, which are drawn before it, and those in front of it,
which are drawn after it; a facet on both sides is cut in two. Then the same within each side. The order that comes
out is right for any scene, also where solids run into each other.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from bracketgen.drawing.solid.facet import Facet, halved
from bracketgen.geometry.frame import Vector

Floats = npt.NDArray[np.float64]
#: A corner this near to a plane lies in it, mm.
_SAME_PLANE_MM: Final = 1e-3
#: So many planes are tried at each step; a cut counts as much as so many facets out of balance.
_TRIED: Final = 6
_CUT_COST: Final = 8


@dataclass(frozen=True)
class _Heap:
    """Facets, their corners as one array (the last corner repeated), and their planes."""

    facets: list[Facet]
    corners: Floats
    planes: Floats

    @staticmethod
    def of(facets: list[Facet]) -> _Heap:
        most = max(len(f.points) for f in facets)
        corners = np.array([f.points + (f.points[-1],) * (most - len(f.points)) for f in facets])
        normals = np.array([f.normal for f in facets])
        return _Heap(facets, corners, np.column_stack((normals, (normals * corners[:, 0]).sum(axis=1))))

    def some(self, keep: npt.NDArray[np.intp]) -> _Heap:
        return _Heap([self.facets[i] for i in keep], self.corners[keep], self.planes[keep])


def far_to_near(facets: Sequence[Facet]) -> list[list[Facet]]:
    """All facets in layers, the farthest first; those of one layer lie in one plane. All must look to the eye."""
    layers: list[list[Facet]] = []
    waiting: list[_Heap | list[Facet]] = [_Heap.of(list(facets))] if facets else []
    while waiting:
        heap = waiting.pop()
        if isinstance(heap, list):
            layers.append(heap)
            continue
        behind, level, front = _parted(heap, _best_plane(heap))
        waiting += [h for h in (front, level, behind) if h is not None]
    return layers


def _heights(heap: _Heap, plane: Floats) -> Floats:
    made: Floats = heap.corners @ plane[:3] - plane[3]
    return made


def _best_plane(heap: _Heap) -> Floats:
    """Of a few facets' planes, the one that cuts least and parts most evenly."""
    n = len(heap.facets)
    tried = sorted({round(i * (n - 1) / (_TRIED - 1)) for i in range(_TRIED)})
    marks: list[tuple[int, int]] = []
    for i in tried:
        h = _heights(heap, heap.planes[i])
        up, down = (h > _SAME_PLANE_MM).any(axis=1), (h < -_SAME_PLANE_MM).any(axis=1)
        uneven = abs(int((up & ~down).sum()) - int((down & ~up).sum()))
        marks.append((_CUT_COST * int((up & down).sum()) + uneven, i))
    best: Floats = heap.planes[min(marks)[1]]
    return best


def _parted(heap: _Heap, plane: Floats) -> tuple[_Heap | None, list[Facet], _Heap | None]:
    h = _heights(heap, plane)
    up, down = (h > _SAME_PLANE_MM).any(axis=1), (h < -_SAME_PLANE_MM).any(axis=1)
    above, below = heap.some(np.flatnonzero(up & ~down)), heap.some(np.flatnonzero(down & ~up))
    level = [heap.facets[i] for i in np.flatnonzero(~up & ~down)]
    upper: list[Facet] = []
    lower: list[Facet] = []
    for i in np.flatnonzero(up & down):
        high, low = halved(heap.facets[i], h[i].tolist(), _SAME_PLANE_MM)
        upper += [high] if high else []
        lower += [low] if low else []
    return _joined(below, lower), level, _joined(above, upper)


def _joined(heap: _Heap, more: list[Facet]) -> _Heap | None:
    if not more:
        return heap if heap.facets else None
    return _Heap.of([*heap.facets, *more])


def clipped(facets: Sequence[Facet], planes: Sequence[tuple[Vector, float]]) -> list[Facet]:
    """What of the facets lies above every plane (normal, offset)."""
    kept = list(facets)
    for normal, offset in planes:
        nxt: list[Facet] = []
        for f in kept:
            h = [p[0] * normal[0] + p[1] * normal[1] + p[2] * normal[2] - offset for p in f.points]
            part = f if min(h) >= 0.0 else halved(f, h, _SAME_PLANE_MM)[0] if max(h) > _SAME_PLANE_MM else None
            nxt += [part] if part else []
        kept = nxt
    return kept
