"""Flat convex pieces of the surfaces in sight, with the edges that are to be inked."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from bracketgen.drawing.model.model3d import Mesh
from bracketgen.drawing.paper.palette import INK, Colour
from bracketgen.drawing.solid.light import lit
from bracketgen.drawing.solid.viewpoint import Viewpoint, dot
from bracketgen.geometry.frame import Vector
from bracketgen.geometry.vector import cross, length, minus, scaled

#: Surfaces that turn by more than this show the edge between them, as its cosine.
SHARP: Final = math.cos(math.radians(25.0))
#: A surface this near to edge on is not seen.
EDGE_ON: Final = 1e-6
_TINY_MM2: Final = 1e-9


@dataclass(frozen=True, slots=True)
class Pen:
    """How an edge is inked, mm on the paper."""

    width_mm: float = 0.3
    colour: Colour = INK

    @property
    def draws(self) -> bool:
        """Whether it leaves a line."""
        return self.width_mm > 0.0


#: No edge at all, but where a facet was cut in two.
CUT: Final = Pen(0.0)


@dataclass(frozen=True, slots=True)
class Facet:
    """A flat convex shape that looks to the eye, anticlockwise; `pens[i]` inks the edge that begins at corner i."""

    points: tuple[Vector, ...]
    normal: Vector
    colour: Colour
    pens: tuple[Pen | None, ...]
    shows: str


def mesh_facets(mesh: Mesh, view: Viewpoint, pen: Pen) -> list[Facet]:
    """The triangles of a closed mesh that look to the eye; sharp edges and the silhouette are inked."""
    normals = [normal_of(*(mesh.points[i] for i in t)) for t in mesh.triangles]
    beyond = {(t[k], t[(k + 1) % 3]): n for t, n in zip(mesh.triangles, normals, strict=True) for k in range(3)}
    made: list[Facet] = []
    for t, n in zip(mesh.triangles, normals, strict=True):
        if n is None or dot(n, view.toward) <= EDGE_ON:
            continue
        others = [beyond.get((t[(k + 1) % 3], t[k])) for k in range(3)]
        pens = tuple(pen if inked(n, other, view) else None for other in others)
        made.append(Facet(tuple(mesh.points[i] for i in t), n, lit(mesh.colour, n, view), pens, mesh.name))
    return made


def inked(own: Vector, other: Vector | None, view: Viewpoint) -> bool:
    """Whether the edge between two surfaces shows: the other one is turned away, or they meet at a sharp angle."""
    return other is not None and (dot(other, view.toward) <= EDGE_ON or dot(own, other) < SHARP)


def normal_of(a: Vector, b: Vector, c: Vector) -> Vector | None:
    """Unit normal of a triangle; None when it has no area."""
    n = cross(minus(b, a), minus(c, a))
    size = length(n)
    return scaled(n, 1.0 / size) if size > _TINY_MM2 else None


def halved(facet: Facet, sides: Sequence[float], slack: float) -> tuple[Facet | None, Facet | None]:
    """The parts of a facet above and below a plane; `sides` are its corners' heights over it, 0 within `slack`.

    The cut itself gets the pen CUT, which draws nothing.
    """
    above: list[tuple[Vector, Pen | None]] = []
    below: list[tuple[Vector, Pen | None]] = []
    n = len(facet.points)
    for i in range(n):
        p, pen, h = facet.points[i], facet.pens[i], sides[i]
        q, k = facet.points[(i + 1) % n], sides[(i + 1) % n]
        if h >= -slack:
            # An edge that goes down here is cut: what follows in the upper part is the cut.
            above.append((p, pen if h > slack or k >= -slack else CUT))
        if h <= slack:
            below.append((p, pen if h < -slack or k <= slack else CUT))
        if (h > slack and k < -slack) or (h < -slack and k > slack):
            share = h / (h - k)
            at = (p[0] + (q[0] - p[0]) * share, p[1] + (q[1] - p[1]) * share, p[2] + (q[2] - p[2]) * share)
            above.append((at, pen if h < 0.0 else CUT))
            below.append((at, pen if h > 0.0 else CUT))
    return _part(facet, above), _part(facet, below)


def _part(facet: Facet, corners: Sequence[tuple[Vector, Pen | None]]) -> Facet | None:
    if len(corners) < 3:
        return None
    points, pens = zip(*corners, strict=True)
    return Facet(points, facet.normal, facet.colour, pens, facet.shows)
