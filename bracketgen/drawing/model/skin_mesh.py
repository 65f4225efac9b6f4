"""The skin of a part as one closed triangle mesh.

Every edge of the skin is divided once, and both faces beside it take the same points: the mesh closes as the skin does.
All points lie on the true surface, and no triangle strays farther from it than the chord error.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Final

from bracketgen.drawing.model.brep import Face, Flatness, Rim, Skin
from bracketgen.drawing.model.model3d import Mesh
from bracketgen.drawing.paper.palette import Colour
from bracketgen.errors import GeometryFault
from bracketgen.geometry.frame import Vector
from bracketgen.geometry.point import Point
from bracketgen.geometry.triangles import Triangle, triangles
from bracketgen.geometry.vector import cross, dot, minus, plus

#: Chord error of the folded part's own mesh, mm: a tenth of a usual layer of 0.2 mm (common practice, no source).
CHORD_MM: Final = 0.02
#: An arc is divided into at least so many pieces, so that each piece of a round face has a straight side in common
#: with one end of the face at most.
_LEAST_PIECES: Final = 2
#: What rounding may add to a number of pieces: arcs alike in radius and turn are to be divided alike.
_NOISE: Final = 1e-6


def skin_mesh(skin: Skin, name: str, colour: Colour, *, chord_mm: float = CHORD_MM) -> Mesh:
    """The skin's mesh, no farther than `chord_mm` (> 0) from the true surface.

    Raises GeometryFault for a face whose loops touch or cross each other.
    """
    if not chord_mm > 0.0:
        raise ValueError(f"chord error {chord_mm} mm: must be above 0")
    points = list(skin.corners)
    chains = [_chain(points, rim, chord_mm) for rim in skin.rims]
    faces: list[Triangle] = []
    for face in skin.faces:
        if isinstance(face.surface, Flatness):
            faces += _flat(points, face.surface, [_ring(chains, loop) for loop in face.loops])
        else:
            faces += _round(skin, chains, face)
    return Mesh(name, colour, tuple(points), tuple(faces))


def pieces_of(radius: float, sweep_rad: float, chord_mm: float) -> int:
    """Into how many pieces an arc is divided so that none strays farther than `chord_mm` from it."""
    half = math.acos(1.0 - chord_mm / radius) if chord_mm < radius else math.pi / 2
    return max(_LEAST_PIECES, math.ceil(sweep_rad / (2.0 * half) - _NOISE))


def _chain(points: list[Vector], rim: Rim, chord_mm: float) -> list[int]:
    """The places of an edge's points from its start to its end; new ones go to the end of `points`."""
    if rim.centre is None or rim.axis is None:
        return [rim.start, rim.end]
    out = minus(points[rim.start], rim.centre)
    side = cross(rim.axis, out)
    end = minus(points[rim.end], rim.centre)
    sweep = math.atan2(dot(end, side), dot(end, out)) % math.tau
    count = pieces_of(rim.radius, sweep, chord_mm)
    first = len(points)
    for i in range(1, count):
        turn = sweep * i / count
        points.append(plus(plus(rim.centre, out, math.cos(turn)), side, math.sin(turn)))
    return [rim.start, *range(first, len(points)), rim.end]


def _ring(chains: Sequence[Sequence[int]], loop: Sequence[tuple[int, int]]) -> list[int]:
    """The points of a loop without the first again."""
    return [i for rim, way in loop for i in _along(chains, rim, way)[:-1]]


def _along(chains: Sequence[Sequence[int]], rim: int, way: int) -> Sequence[int]:
    return chains[rim] if way > 0 else chains[rim][::-1]


def _flat(points: Sequence[Vector], surface: Flatness, rings: Sequence[Sequence[int]]) -> list[Triangle]:
    across = cross(surface.normal, surface.along)
    seen = [[_on_plane(points[i], surface, across) for i in ring] for ring in rings]
    places = [i for ring in rings for i in ring]
    try:
        return [(places[a], places[b], places[c]) for a, b, c in triangles(seen)]
    except GeometryFault as fault:
        raise GeometryFault(
            "holes touch or cross each other or the outline", cure="leave metal between them"
        ) from fault


def _on_plane(p: Vector, surface: Flatness, across: Vector) -> Point:
    d = minus(p, surface.origin)
    return Point(dot(d, surface.along), dot(d, across))


def _round(skin: Skin, chains: Sequence[Sequence[int]], face: Face) -> list[Triangle]:
    """A face between two arcs alike and the straight edges that join their ends: one flat strip for each piece."""
    (loop,) = face.loops
    first, second = (n for n, (rim, _) in enumerate(loop) if skin.rims[rim].centre is not None)
    near, far = (_along(chains, *loop[n]) for n in (first, second))
    before = _ring(chains, [*loop[second + 1 :], *loop[:first]])[1:]
    after = _ring(chains, loop[first + 1 : second])[1:]
    count = len(near) - 1
    made: list[Triangle] = []
    for i in range(count):
        a, b, c, d = near[i], near[i + 1], far[count - i - 1], far[count - i]
        if i == 0:
            made += _fan(b, (c, d, *before, a))
        elif i == count - 1:
            made += _fan(a, (b, *after, c, d))
        else:
            made += _fan(a, (b, c, d))
    return made


def _fan(tip: int, others: Sequence[int]) -> list[Triangle]:
    return [(tip, a, b) for a, b in pairwise(others)]
