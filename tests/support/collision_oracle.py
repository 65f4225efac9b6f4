"""The same solids for an independent collision library (python-fcl).

Its iterations stop at an absolute tolerance: in mm, distances from drums and from boxes to capsules come out wrong by
up to 0.004 mm. So it is given everything in units of 1e-5 mm; then capsules, drums and boxes agree among
themselves to about 1e-6 mm. It cuts arcs to chords: flat metal and bends are meshes whose chords stand off by CHORD_MM
at most. A wall is a box of 4 m; before a mesh it takes the library too long, so there the mesh's corner farthest
behind the wall is looked for. A mesh is its surface only: the library can't tell what lies inside of the metal.
"""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pytest
import shapely
from solids_in_space import Floats, section, template

from bracketgen.geometry.space import Vector
from bracketgen.vehicle.near.solids import Block, Bow, Capsule, Drum, Plate, Solid, Wall

fcl = pytest.importorskip("fcl")

PER_MM = 1e5
_WALL_MM = 4000.0


def fcl_distance_mm(a: Solid, b: Solid) -> float:
    """Distance by the library; 0 or less where the two meet."""
    for wall, metal in ((a, b), (b, a)):
        if isinstance(wall, Wall) and isinstance(metal, Plate | Bow):
            return float(((_corners(metal) - wall.point) @ np.array(wall.normal)).min())
    request, result = fcl.DistanceRequest(True), fcl.DistanceResult()
    return float(fcl.distance(_placed(a), _placed(b), request, result)) / PER_MM


def _placed(solid: Solid) -> Any:
    match solid:
        case Capsule(a, b, radius) | Drum(a, b, radius):
            shape = fcl.Capsule if isinstance(solid, Capsule) else fcl.Cylinder
            length = float(np.linalg.norm(np.subtract(b, a)))
            middle = np.add(a, b) / 2
            return _at(shape(radius * PER_MM, length * PER_MM), _turn_to(np.subtract(b, a)), middle)
        case Block(frame, half):
            return _at(fcl.Box(*(2 * h * PER_MM for h in half)), _columns(frame.x, frame.y, frame.z), frame.origin)
        case Wall(point, normal):
            middle = np.array(point) - np.array(normal) * _WALL_MM / 2
            return _at(fcl.Box(*[_WALL_MM * PER_MM] * 3), _turn_to(np.array(normal)), middle)
        case Plate() | Bow():
            return _at(_mesh(template(solid)), _drawn_along(solid).T, solid.frame.origin)


def _drawn_along(solid: Plate | Bow) -> Floats:
    """Axes of the section and of the direction that it is drawn in, row by row."""
    f = solid.frame
    return np.array((f.x, f.y, f.z) if isinstance(solid, Plate) else (f.y, f.z, f.x))


def _corners(solid: Plate | Bow) -> Floats:
    corners: Floats = _triangles(template(solid)).reshape(-1, 3) @ _drawn_along(solid) + np.array(solid.frame.origin)
    return corners


def _at(shape: Any, turn: Floats, middle: Vector | Floats) -> Any:
    return fcl.CollisionObject(shape, fcl.Transform(turn, np.array(middle) * PER_MM))


def _columns(*axes: Vector) -> Floats:
    return np.array(axes).T


def _turn_to(z: Floats) -> Floats:
    z = z / np.linalg.norm(z)
    x = np.cross(z, np.eye(3)[int(np.abs(z).argmin())])
    x /= np.linalg.norm(x)
    return np.stack((x, np.cross(z, x), z), axis=1)


@cache
def _triangles(solid: Plate | Bow) -> Floats:
    """Section drawn along z: sides as pairs of triangles, both ends triangulated; (n, 3, 3)."""
    low, high = (solid.low, solid.high) if isinstance(solid, Plate) else (0.0, solid.width)
    flat = section(solid)
    corners: list[Floats] = []
    for ring in (flat.exterior, *flat.interiors):
        a = np.array(ring.coords)[:, :2]
        p, q = a[:-1], a[1:]
        p0, q0, q1, p1 = (
            np.column_stack((c, np.full(len(c), z))) for c, z in ((p, low), (q, low), (q, high), (p, high))
        )
        corners += [np.stack((p0, q0, q1), axis=1), np.stack((p0, q1, p1), axis=1)]
    ends = np.array([t.exterior.coords[:3] for t in shapely.constrained_delaunay_triangles(flat).geoms])[..., :2]
    corners += [np.concatenate((ends, np.full((*ends.shape[:2], 1), z)), axis=2) for z in (low, high)]
    return np.concatenate(corners)


@cache
def _mesh(solid: Plate | Bow) -> Any:
    triangles = _triangles(solid)
    mesh = fcl.BVHModel()
    mesh.beginModel(3 * len(triangles), len(triangles))
    mesh.addSubModel(triangles.reshape(-1, 3) * PER_MM, np.arange(3 * len(triangles)).reshape(-1, 3))
    mesh.endModel()
    return mesh
