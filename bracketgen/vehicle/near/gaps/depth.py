"""How deep two solids meet: the shortest straight move that parts their hulls.

Van den Bergen: Proximity queries and penetration depth computation on 3D game objects, Game Developers Conference 2001
(from memory): a polytope inside of the difference of the two hulls grows by the support point beyond the face that lies
nearest to the origin, until that face lies on the difference's skin. Every face asked gives a move that surely parts
the two, and the nearest face says that no shorter move does.
"""

from __future__ import annotations

import math

import numpy as np

from bracketgen.geometry.arrays import Floats
from bracketgen.vehicle.near.gaps.pieces import Pieces, crosses, farthest, lengths

#: The move found is longer than the shortest by at most this share of it, or by this many mm.
_SHARE, _AGREED_MM = 1e-4, 1e-6
_MOST_FACES_ASKED = 300
#: Points nearer to a plane or line than this lie in it, mm.
_FLAT_MM = 1e-8
_ROUGHLY = 40


class _Difference:
    """Where the middle of q's hull may stand so that it meets p's, without the rounds; asked by support points."""

    def __init__(self, p: Pieces, q: Pieces) -> None:
        self._p, self._q = p, q
        #: Either hull is one capsule or has no round at all.
        self.round_mm = float(p.radius.max() + q.radius.max())
        self.best, self.least = np.array((0.0, 0.0, 1.0)), math.inf

    def support(self, way: Floats) -> Floats:
        """The core point farthest along the unit `way`; remembers the way if it is the shortest out."""
        point: Floats = _farthest_of_all(self._p, way) - _farthest_of_all(self._q, -way)
        mm = float(point @ way) + self.round_mm
        if mm < self.least:
            self.best, self.least = way, mm
        return point


def _farthest_of_all(p: Pieces, way: Floats) -> Floats:
    points = farthest(p, np.arange(len(p)), np.broadcast_to(way, (len(p), 3)))
    found: Floats = points[(points @ way).argmax()]
    return found


def way_out(p: Pieces, q: Pieces) -> tuple[Floats, float]:
    """Unit way and length (0 or less: apart already) of the shortest straight move of q that parts its hull from p's.

    At most a ten-thousandth longer than the shortest there is, never shorter, unless the skin is so even that every way
    out is as long (two drums on one axis): then up to a thousandth.
    """
    difference = _Difference(p, q)
    points = _first_corners(difference)
    if points is not None:
        _grow(difference, points)
    return difference.best, difference.least


def _first_corners(difference: _Difference) -> Floats | None:
    """A tetrahedron inside the difference; None where it is flat: then the way square to it was asked, and is best."""
    a, b = (difference.support(np.array((s, 0.0, 0.0))) for s in (1.0, -1.0))
    along = b - a
    if float(np.linalg.norm(along)) < _FLAT_MM:
        along = np.array((1.0, 0.0, 0.0))
    across = np.cross(along, np.eye(3)[int(np.abs(along).argmin())])
    c = max(
        (difference.support(w) for w in _both_ways(across)), key=lambda c: float(np.linalg.norm(np.cross(c - a, along)))
    )
    square = np.cross(along, c - a)
    if float(np.linalg.norm(square)) < _FLAT_MM * float(np.linalg.norm(along)):
        square = np.cross(along, across)
    d = max((difference.support(w) for w in _both_ways(square)), key=lambda d: abs(float((d - a) @ square)))
    height = abs(float((d - a) @ square)) / float(np.linalg.norm(square))
    return None if height < _FLAT_MM else np.array((a, b, c, d))


def _both_ways(way: Floats) -> tuple[Floats, Floats]:
    unit = way / np.linalg.norm(way)
    return unit, -unit


def _grow(difference: _Difference, points: Floats) -> None:
    inner = points.mean(axis=0)
    faces, normals, offsets = _faces(points, np.array(((0, 1, 2), (0, 1, 3), (0, 2, 3), (1, 2, 3))), inner)
    for _ in range(_MOST_FACES_ASKED):
        nearest = int(offsets.argmin())
        if difference.least - difference.round_mm - offsets[nearest] <= max(_SHARE * difference.least, _AGREED_MM):
            return
        point = difference.support(normals[nearest])
        if float(point @ normals[nearest]) - offsets[nearest] <= _AGREED_MM:
            return
        points = np.concatenate((points, point[None]))
        # All faces that see the new point give way to a cone from their common rim.
        seen = normals @ point > offsets - _FLAT_MM
        edges = np.sort(faces[seen][:, ((0, 1), (1, 2), (2, 0))].reshape(-1, 2), axis=1)
        rim, often = np.unique(edges, axis=0, return_counts=True)
        rim = rim[often == 1]
        cone = _faces(points, np.column_stack((rim, np.full(len(rim), len(points) - 1))), inner)
        faces, normals, offsets = (
            np.concatenate((old[~seen], new)) for old, new in zip((faces, normals, offsets), cone, strict=True)
        )


def _faces(points: Floats, corners: Floats, inner: Floats) -> tuple[Floats, Floats, Floats]:
    """Triangles with their outward unit normals and how far out they are; none without an area."""
    a = points[corners[:, 0]]
    normals = crosses(points[corners[:, 1]] - a, points[corners[:, 2]] - a)
    size = lengths(normals)
    kept = size > _FLAT_MM**2
    corners, a, normals = corners[kept], a[kept], normals[kept] / size[kept][:, None]
    normals = normals * np.where(((a - inner) * normals).sum(axis=1) < 0, -1.0, 1.0)[:, None]
    return corners, normals, (a * normals).sum(axis=1)


def rough_depth(p: Pieces, q: Pieces) -> float:
    """A quick bound on the length of `way_out`, to tell the deep from the shallow, mm."""
    k = np.arange(_ROUGHLY) + 0.5
    z, turn = 1 - 2 * k / _ROUGHLY, np.pi * (1 + math.sqrt(5)) * k  # on a spiral, each a golden angle further
    flat = np.sqrt(1 - z * z)
    difference = _Difference(p, q)
    for way in np.stack((flat * np.cos(turn), flat * np.sin(turn), z), axis=1):
        difference.support(way)
    return difference.least
