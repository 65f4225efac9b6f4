"""Convex prisms in space, many at a time, whether two of them run into each other, and triangles to build them on.

A prism is a flat convex shape of three or four corners, drawn straight along the normal of its plane. Two convex
bodies are apart exactly when their shadows on some axis are; for prisms the normals of their faces and the square
directions of pairs of their edges are all the axes that have to be asked (separating axis theorem).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from bracketgen.errors import GeometryFault
from bracketgen.geometry.arrays import Floats, Indices
from bracketgen.geometry.plane import Point
from bracketgen.geometry.space import Frame, Vector

_TINY = 1e-9
_MOST_STEPS = 500


@dataclass(frozen=True, slots=True)
class Prisms:
    """Prisms in one common frame, mm: corners (n, 8, 3), unit normals and unit edge directions (n, 5, 3)."""

    corners: Floats
    normals: Floats
    edges: Floats

    @staticmethod
    def extruded(frame: Frame, shapes: npt.ArrayLike, low_mm: float, high_mm: float) -> Prisms:
        """One prism a shape: (n, 4, 2) corners in the frame's x-y plane, drawn from z = low to z = high.

        A triangle names one of its corners twice.
        """
        flat = np.asarray(shapes, dtype=np.float64)
        turn = np.array((frame.x, frame.y, frame.z))
        foot = np.array(frame.origin) + flat @ turn[:2]
        corners = np.concatenate((foot + low_mm * turn[2], foot + high_mm * turn[2]), axis=1)
        sides = np.roll(flat, -1, axis=1) - flat
        length = np.sqrt((sides**2).sum(axis=2, keepdims=True))
        unit = sides / np.maximum(length, _TINY)
        # The side that a triangle lacks is replaced by the direction of drawing, which is asked for anyway.
        missing = length < _TINY
        square = np.stack((unit[..., 1], -unit[..., 0]), axis=2)
        upright = np.broadcast_to(turn[2], (len(flat), 1, 3))
        normals = np.concatenate((np.where(missing, turn[2], square @ turn[:2]), upright), axis=1)
        edges = np.concatenate((np.where(missing, turn[2], unit @ turn[:2]), upright), axis=1)
        return Prisms(corners, normals, edges)

    @staticmethod
    def joined(sets: Sequence[Prisms]) -> Prisms:
        """All prisms of the sets, in order."""
        return Prisms(
            np.concatenate([s.corners for s in sets]),
            np.concatenate([s.normals for s in sets]),
            np.concatenate([s.edges for s in sets]),
        )

    def boxes(self) -> tuple[Floats, Floats]:
        """Least and greatest x, y, z of every prism."""
        return self.corners.min(axis=1), self.corners.max(axis=1)


def near_pairs(a: Prisms, b: Prisms, slack_mm: float) -> tuple[Indices, Indices]:
    """Prisms of the two sets whose upright boxes share more than the slack in every direction."""
    (a_low, a_high), (b_low, b_high) = a.boxes(), b.boxes()
    shared = np.minimum(a_high[:, None], b_high) - np.maximum(a_low[:, None], b_low)
    i, j = np.nonzero((shared > slack_mm).all(axis=2))
    return i, j


def depths_mm(a: Prisms, i: Indices, b: Prisms, j: Indices) -> Floats:
    """How far prism `i[n]` of a and `j[n]` of b are in each other: the shortest way out, mm; 0 or less when apart."""
    crossed = np.cross(a.edges[i][:, :, None], b.edges[j][:, None, :]).reshape(len(i), -1, 3)
    size = np.sqrt((crossed**2).sum(axis=2, keepdims=True))
    # Parallel edges span no direction; any axis that is asked for anyway stands in.
    crossed = np.where(size > _TINY, crossed / np.maximum(size, _TINY), a.normals[i][:, -1:])
    axes = np.concatenate((a.normals[i], b.normals[j], crossed), axis=1)
    mine = axes @ a.corners[i].transpose(0, 2, 1)
    theirs = axes @ b.corners[j].transpose(0, 2, 1)
    out = np.minimum(mine.max(axis=2) - theirs.min(axis=2), theirs.max(axis=2) - mine.min(axis=2))
    shortest: Floats = out.min(axis=1)
    return shortest


def shared_point(a: Prisms, i: int, b: Prisms, j: int) -> Vector:
    """A point that lies in both prisms (which must overlap), within 0.001 mm: projected onto one face after another."""
    normals = np.concatenate((a.normals[i], b.normals[j]))
    mine, theirs = a.normals[i] @ a.corners[i].T, b.normals[j] @ b.corners[j].T
    low = np.concatenate((mine.min(axis=1), theirs.min(axis=1)))
    high = np.concatenate((mine.max(axis=1), theirs.max(axis=1)))
    least = np.maximum(a.corners[i].min(axis=0), b.corners[j].min(axis=0))
    most = np.minimum(a.corners[i].max(axis=0), b.corners[j].max(axis=0))
    p = (least + most) / 2
    for _ in range(_MOST_STEPS):
        reach = normals @ p
        back = np.clip(reach, low, high) - reach
        worst = int(np.argmax(np.abs(back)))
        if abs(back[worst]) < 1e-3:
            break
        p = p + back[worst] * normals[worst]
    return (float(p[0]), float(p[1]), float(p[2]))


# -- a flat ring with holes as triangles between its own corners

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
