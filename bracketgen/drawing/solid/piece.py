"""The folded part as plates in space: one piece a panel, a few slices a bend."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from bracketgen.bending.fold import Folded, strip_frame, turned_frame
from bracketgen.drawing.paper.trace import edge_points, ring_points
from bracketgen.geometry.contour import Contour
from bracketgen.geometry.frame import Frame, Vector
from bracketgen.geometry.line import Line
from bracketgen.geometry.point import Point
from bracketgen.part.bend import Bend, Way
from bracketgen.part.panel import Panel
from bracketgen.part.part import Part

#: A bend is shown in slices that turn at most this much.
_SLICE_DEG: Final = 15.0
#: An edge whose middle is this near to a bend line is not an edge of the folded part.
_ON_BEND_MM: Final = 1e-3


@dataclass(frozen=True, slots=True)
class Ring:
    """A closed edge of a piece on both its faces, anticlockwise as seen on the described face.

    `joins` says for each edge (from its corner to the next) whether the metal goes on beyond it.
    """

    face: tuple[Vector, ...]
    back: tuple[Vector, ...]
    joins: tuple[bool, ...]


@dataclass(frozen=True, slots=True)
class Piece:
    """A plate in space; `way` and `bend` are set for the slice of a bend. `chain` counts slices along a bend."""

    shows: str
    normal: Vector
    outline: Ring
    holes: tuple[Ring, ...] = ()
    bend: str = ""
    way: Way | None = None
    tangent: tuple[bool, bool] = (False, False)


@dataclass(frozen=True, slots=True)
class Joint:
    """Two pieces that touch, by place in the list, and the direction across from the first to the second."""

    first: int
    second: int
    across: Vector


def pieces_of(folded: Folded, chord_mm: float) -> tuple[list[Piece], list[Joint]]:
    """All pieces, panels first in the part's order, and where they join."""
    part = folded.part
    pieces = [_panel_piece(p, part, folded.frames[p.id], chord_mm) for p in part.panels]
    place = {p.id: i for i, p in enumerate(part.panels)}
    joints: list[Joint] = []
    for bend in part.bends:
        frames = _slice_frames(bend, folded)
        before = place[bend.parent]
        for i, (a, b) in enumerate(pairwise(frames)):
            pieces.append(_slice_piece(bend, part.stock.thickness_mm, a, b, (i == 0, i == len(frames) - 2)))
            joints.append(Joint(before, len(pieces) - 1, a.y))
            before = len(pieces) - 1
        joints.append(Joint(before, place[bend.child], frames[-1].y))
    return pieces, joints


def _slice_frames(bend: Bend, folded: Folded) -> list[Frame]:
    """Frames on the described face across the bend, from the parent's tangent line to the child's."""
    count = max(2, math.ceil(bend.turn_deg / _SLICE_DEG))
    start = strip_frame(bend, folded.frames[bend.parent])
    thickness = folded.part.stock.thickness_mm
    return [turned_frame(bend, thickness, bend.turn_deg * i / count).within(start) for i in range(count + 1)]


def _slice_piece(bend: Bend, thickness_mm: float, a: Frame, b: Frame, tangent: tuple[bool, bool]) -> Piece:
    w = bend.width_mm
    faces = [_quad(a, b, w, -depth) for depth in (0.0, thickness_mm)]
    normal = _unit((a.z[0] + b.z[0], a.z[1] + b.z[1], a.z[2] + b.z[2]))
    ring = Ring(faces[0], faces[1], (True, False, True, False))
    return Piece(f"bend {bend.id}", normal, ring, (), bend.id, bend.way, tangent)


def _quad(a: Frame, b: Frame, width: float, z: float) -> tuple[Vector, ...]:
    return (a.point((0.0, 0.0, z)), a.point((width, 0.0, z)), b.point((width, 0.0, z)), b.point((0.0, 0.0, z)))


def _panel_piece(panel: Panel, part: Part, frame: Frame, chord_mm: float) -> Piece:
    seams = [b.parent_line for b in part.bends if b.parent == panel.id]
    seams += [b.child_line for b in part.bends if b.child == panel.id]
    points = _outline_points(panel.outline.anticlockwise(), seams, chord_mm)
    t = part.stock.thickness_mm
    outline = _ring(points, frame, t, _joins(points, seams))
    holes = tuple(_ring(p, frame, t, (False,) * len(p)) for p in (ring_points(h.cut, chord_mm) for h in panel.holes))
    return Piece(f"panel {panel.id}", frame.z, outline, holes)


def _ring(points: Sequence[Point], frame: Frame, thickness_mm: float, joins: tuple[bool, ...]) -> Ring:
    face = tuple(frame.point((p.x, p.y, 0.0)) for p in points)
    back = tuple(frame.point((p.x, p.y, -thickness_mm)) for p in points)
    return Ring(face, back, joins)


def _outline_points(outline: Contour, seams: Sequence[Line], chord_mm: float) -> list[Point]:
    """The traced outline, with the ends of bend lines as extra points on straight edges."""
    points: list[Point] = []
    for edge in outline.edges:
        points += edge_points(edge, chord_mm)
        if isinstance(edge, Line):
            ends = [p for s in seams for p in (s.start, s.end) if _splits(edge, p)]
            points += sorted(ends, key=edge.along)
    return points


def _splits(edge: Line, p: Point) -> bool:
    far = min(p.distance(edge.start), p.distance(edge.end)) > _ON_BEND_MM
    return far and edge.nearest(p).distance(p) <= _ON_BEND_MM


def _joins(points: Sequence[Point], seams: Sequence[Line]) -> tuple[bool, ...]:
    n = len(points)
    middles = [Line(points[i], points[(i + 1) % n]).middle for i in range(n)]
    return tuple(any(s.nearest(m).distance(m) <= _ON_BEND_MM for s in seams) for m in middles)


def _unit(v: Vector) -> Vector:
    size = math.hypot(*v)
    return (v[0] / size, v[1] / size, v[2] / size)
