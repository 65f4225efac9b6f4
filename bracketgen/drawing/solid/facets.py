"""Flat pieces of the surfaces of solids, with the edges that are to be inked."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from bracketgen.drawing.sheet import DESCRIBED_FACE, INK, OTHER_FACE, WAY_LINE, WAY_TINT, Colour, mixed
from bracketgen.drawing.solid.mesh import Divided, Mesh
from bracketgen.drawing.solid.skin import SHARP, Cylinder, Face, Plane, Skin
from bracketgen.geometry.arrays import Floats
from bracketgen.geometry.space import Vector, cross, dot, plus, scaled, unit

#: A surface this near to edge on is not seen.
EDGE_ON: Final = 1e-6
#: A corner this near to a plane lies in it, mm.
_SAME_PLANE_MM: Final = 1e-3
_TINY_MM2: Final = 1e-9
_EDGE_MM: Final = 0.35
_HOLE_MM: Final = 0.28
_TANGENT_MM: Final = 0.25


@dataclass(frozen=True, slots=True)
class Ink:
    """How an edge is drawn, mm on the paper; with `beyond`, only where that surface is turned away from the eye."""

    width_mm: float
    colour: Colour = INK
    beyond: Vector | None = None

    def drawn(self, toward: Vector) -> bool:
        """Whether it leaves a line, seen from there."""
        return self.beyond is None or dot(self.beyond, toward) <= EDGE_ON


@dataclass(frozen=True, slots=True, eq=False)
class Facet:
    """A flat shape in space: rings of corners (n, 3), anticlockwise seen from outside, holes the other way round.

    `inks[r][i]` is for the edge that begins at corner i of ring r. `seams` are where it was cut from its neighbour.
    """

    rings: tuple[Floats, ...]
    normal: Vector
    colour: Colour
    inks: tuple[tuple[Ink | None, ...], ...]
    shows: str
    seams: tuple[tuple[Vector, Vector], ...] = ()


def skin_facets(skin: Skin, chord_mm: float, bend_chord_mm: float = math.inf) -> list[Facet]:
    """All surfaces of a part; bends may be held to a finer chord. Sharp edges and tangent lines of bends are inked."""
    divided = Divided(skin, chord_mm, bend_chord_mm)
    holes = {n for face in skin.faces for loop in face.loops[1:] for n, _ in loop}
    settled: dict[tuple[int, int], Ink] = {}
    for n, (uses, sharp) in enumerate(zip(skin.faces_at(), skin.sharp_rims(), strict=True)):
        ways = {f.way for f, _ in uses}
        if sharp:
            ink = Ink(_HOLE_MM if n in holes else _EDGE_MM)
        elif len(ways) == 2 and None in ways and any(isinstance(f.surface, Cylinder) for f, _ in uses):
            ink = Ink(_TANGENT_MM, *(WAY_LINE[w] for w in ways if w))
        else:
            continue
        chain = divided.chains[n]
        for a, b in pairwise(chain):
            settled[a, b] = settled[b, a] = ink
    flats: list[_Flat] = []
    points = np.array(divided.points)
    for face in skin.faces:
        colour = _colour(face)
        if isinstance(face.surface, Plane):
            rings = [divided.ring(loop) for loop in face.loops]
            flats.append((rings, face.surface.normal, colour, face.shows))
            continue
        for ring in divided.slices(face):
            # The first corner and the last but one stand at either end of the slice's turn.
            first, last = (face.surface.out(divided.points[ring[k]]) for k in (0, -2))
            out = unit(plus(first, last))
            flats.append(([ring], out, colour, face.shows))
    return _facets(points, flats, settled, -math.inf, Ink(_EDGE_MM))


def _colour(face: Face) -> Colour:
    if face.side == "cut":
        return OTHER_FACE
    if face.side == "described":
        return WAY_TINT[face.way] if face.way else DESCRIBED_FACE
    return mixed(WAY_TINT[face.way], OTHER_FACE, 0.45) if face.way else OTHER_FACE


def mesh_facets(mesh: Mesh, ink: Ink) -> list[Facet]:
    """The triangles of a closed mesh; sharp edges and the silhouette are inked."""
    points = np.array(mesh.points)
    a, b, c = np.moveaxis(points[np.array(mesh.triangles)], 1, 0)
    normals = np.cross(b - a, c - a)
    sizes = np.linalg.norm(normals, axis=1)
    outs = normals / np.maximum(sizes, _TINY_MM2)[:, None]
    flats: list[_Flat] = [
        ([t], (out[0], out[1], out[2]), mesh.colour, mesh.name)
        for t, out, size in zip(mesh.triangles, outs.tolist(), sizes.tolist(), strict=True)
        if size > _TINY_MM2
    ]
    return _facets(points, flats, {}, SHARP, ink)


_Flat = tuple[Sequence[Sequence[int]], Vector, Colour, str]


def _facets(
    points: Floats, flats: Sequence[_Flat], settled: Mapping[tuple[int, int], Ink], sharp: float, ink: Ink
) -> list[Facet]:
    """Flat shapes given by places in `points`; edges that are not settled are judged by how the surface turns."""
    sides = [[list(zip(ring, (*ring[1:], ring[0]), strict=True)) for ring in rings] for rings, *_ in flats]
    normals = {side: flat[1] for flat, rings in zip(flats, sides, strict=True) for ring in rings for side in ring}

    def ink_of(side: tuple[int, int], own: Vector) -> Ink | None:
        if side in settled:
            return settled[side]
        beyond = normals.get(side[::-1])
        if beyond is None:
            return None
        return ink if dot(own, beyond) < sharp else Ink(ink.width_mm, ink.colour, beyond)

    return [
        Facet(
            tuple(points[list(ring)] for ring in rings), normal, colour,
            tuple(tuple(ink_of(side, normal) for side in ring) for ring in edges), shows,
        )
        for (rings, normal, colour, shows), edges in zip(flats, sides, strict=True)
    ]  # fmt: skip


def halved(facet: Facet, normal: Vector, offset: float) -> tuple[Facet | None, Facet | None]:
    """The parts of a facet above and below a plane; the cut is a seam of both and is not inked."""
    upper: tuple[list[Floats], list[tuple[Ink | None, ...]]] = ([], [])
    lower: tuple[list[Floats], list[tuple[Ink | None, ...]]] = ([], [])
    cuts: list[Vector] = []
    for ring, inks in zip(facet.rings, facet.inks, strict=True):
        corners, heights = ring.tolist(), (ring @ normal - offset).tolist()
        count = len(corners)
        for sign, (rings, ring_inks) in ((1.0, upper), (-1.0, lower)):
            kept: list[tuple[Vector, Ink | None]] = []
            for i, (p, ink) in enumerate(zip(corners, inks, strict=True)):
                h, k = sign * heights[i], sign * heights[(i + 1) % count]
                if h >= -_SAME_PLANE_MM:
                    # An edge that leaves here is cut: what follows in this part is the cut.
                    kept.append((p, ink if h > _SAME_PLANE_MM or k >= -_SAME_PLANE_MM else None))
                if min(h, k) < -_SAME_PLANE_MM and max(h, k) > _SAME_PLANE_MM:
                    kept.append((_between(p, corners[(i + 1) % count], h, k), ink if h < 0.0 else None))
            if len(kept) > 2:
                rings.append(np.array([p for p, _ in kept]))
                ring_inks.append(tuple(ink for _, ink in kept))
            elif ring is facet.rings[0]:
                return (None, facet) if sign > 0.0 else (facet, None)
        cuts += [
            _between(corners[i - 1], corners[i], heights[i - 1], heights[i])
            for i in range(count)
            if (heights[i - 1] >= 0.0) is not (heights[i] >= 0.0)
        ]
    # Along the cut there is metal from the first crossing to the second, from the third to the fourth, and so on.
    way = cross(facet.normal, normal)
    cuts.sort(key=lambda p: dot(p, way))
    new = tuple(zip(cuts[::2], cuts[1::2], strict=False))
    parts = []
    for sign, (rings, ring_inks) in ((1.0, upper), (-1.0, lower)):
        old = tuple(s for seam in facet.seams if (s := _kept(seam, scaled(normal, sign), sign * offset)))
        parts.append(Facet(tuple(rings), facet.normal, facet.colour, tuple(ring_inks), facet.shows, old + new))
    return parts[0], parts[1]


def _between(p: Vector, q: Vector, h: float, k: float) -> Vector:
    """Where a line from height h to height k meets 0."""
    share = h / (h - k)
    return (p[0] + (q[0] - p[0]) * share, p[1] + (q[1] - p[1]) * share, p[2] + (q[2] - p[2]) * share)


def _kept(seam: tuple[Vector, Vector], normal: Vector, offset: float) -> tuple[Vector, Vector] | None:
    """What of a seam lies above a plane."""
    p, q = seam
    h, k = dot(p, normal) - offset, dot(q, normal) - offset
    if max(h, k) <= 0.0:
        return None
    return (p if h >= 0.0 else _between(p, q, h, k), q if k >= 0.0 else _between(p, q, h, k))


def clipped(facets: Sequence[Facet], planes: Sequence[tuple[Vector, float]]) -> list[Facet]:
    """What of the facets lies above every plane (normal, offset)."""
    kept = list(facets)
    for normal, offset in planes:
        made: list[Facet] = []
        for f in kept:
            heights = np.concatenate(f.rings) @ normal - offset
            part = f if heights.min() >= 0.0 else None
            if part is None and heights.max() > _SAME_PLANE_MM:
                part, _ = halved(f, normal, offset)
            made += [part] if part else []
        kept = made
    return kept
