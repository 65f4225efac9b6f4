"""The surfaces in sight of a folded part's pieces."""

from __future__ import annotations

from collections.abc import Sequence

from bracketgen.drawing.paper.palette import OTHER_FACE, WAY_LINE
from bracketgen.drawing.solid.facet import EDGE_ON, Facet, Pen, inked, normal_of
from bracketgen.drawing.solid.light import back_colour, described_colour, lit
from bracketgen.drawing.solid.piece import Piece, Ring
from bracketgen.drawing.solid.viewpoint import Viewpoint, dot
from bracketgen.errors import GeometryFault
from bracketgen.geometry.frame import Vector
from bracketgen.geometry.point import Point
from bracketgen.geometry.triangles import Triangle, triangles
from bracketgen.geometry.vector import scaled

_EDGE = Pen(0.35)
_HOLE = Pen(0.28)
_TANGENT_MM = 0.25


def piece_facets(piece: Piece, view: Viewpoint, shows: str) -> list[Facet]:
    """The face of a piece that looks to the eye, and its cut edges that do; seams within the metal are left out."""
    made = [f for hole in piece.holes for f in _walls(piece, hole, view, shows, -1)]
    return made + _walls(piece, piece.outline, view, shows, 1) + _face(piece, view, shows)


def _face(piece: Piece, view: Viewpoint, shows: str) -> list[Facet]:
    described = dot(piece.normal, view.toward) > 0.0
    out = piece.normal if described else scaled(piece.normal, -1.0)
    if dot(out, view.toward) <= EDGE_ON:
        return []
    rings = [r.face if described else r.back for r in (piece.outline, *piece.holes)]
    colour = lit(described_colour(piece.way) if described else back_colour(piece.way), out, view)
    pens = _face_pens(piece)
    if piece.way is not None:
        # Slices of a bend are plain quadrangles.
        points, edges = rings[0], tuple(pens.get((i, (i + 1) % 4)) for i in range(4))
        if not described:
            points, edges = points[::-1], (edges[2], edges[1], edges[0], edges[3])
        return [Facet(points, out, colour, edges, shows)]
    corners = [v for ring in rings for v in ring]
    made: list[Facet] = []
    for t in _triangles([[view.flat(v) for v in ring] for ring in rings]):
        sides = [(t[k], t[(k + 1) % 3]) for k in range(3)]
        edges = tuple(pens.get(s) or pens.get((s[1], s[0])) for s in sides)
        made.append(Facet(tuple(corners[i] for i in t), out, colour, edges, shows))
    return made


def _triangles(rings: Sequence[Sequence[Point]]) -> list[Triangle]:
    """The face in triangles; holes that touch each other or the edge (a faulty part) are drawn as metal."""
    try:
        return triangles(rings)
    except GeometryFault:
        return triangles(rings[:1])


def _face_pens(piece: Piece) -> dict[tuple[int, int], Pen]:
    """How the edges of a face are inked, by corner numbers through all rings; seams have no pen."""
    pens: dict[tuple[int, int], Pen] = {}
    start = 0
    for ring in (piece.outline, *piece.holes):
        n = len(ring.face)
        for i in range(n):
            if not ring.joins[i]:
                pens[(start + i, start + (i + 1) % n)] = _EDGE if start == 0 else _HOLE
        start += n
    if piece.way is not None:
        thin = Pen(_TANGENT_MM, WAY_LINE[piece.way])
        pens |= {side: thin for side, ends in zip(((0, 1), (2, 3)), piece.tangent, strict=True) if ends}
    return pens


def _walls(piece: Piece, ring: Ring, view: Viewpoint, shows: str, side: int) -> list[Facet]:
    n = len(ring.face)
    quads = [_quad(ring, i, side) for i in range(n)]
    outs = [normal_of(*q[:3]) for q in quads]
    made: list[Facet] = []
    for i, (quad, out) in enumerate(zip(quads, outs, strict=True)):
        if ring.joins[i] or out is None or dot(out, view.toward) <= EDGE_ON:
            continue
        before, after = ((i + k) % n for k in (-1, 1))
        upright = [
            None if ring.joins[k] or piece.way is not None or not inked(out, outs[k], view) else _EDGE
            for k in (after, before)
        ]
        level = _EDGE if side > 0 else _HOLE
        first, second = upright if side > 0 else upright[::-1]
        made.append(Facet(quad, out, lit(OTHER_FACE, out, view), (level, first, level, second), shows))
    return made


def _quad(ring: Ring, i: int, side: int) -> tuple[Vector, ...]:
    """The wall below edge `i`, anticlockwise seen from outside the metal: back edge first, then up."""
    k = (i + 1) % len(ring.face)
    quad = (ring.back[i], ring.back[k], ring.face[k], ring.face[i])
    return quad if side > 0 else (quad[1], quad[0], quad[3], quad[2])
