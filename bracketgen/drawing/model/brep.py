"""The folded part as exact faces: planes and cylinders bounded by lines and circular arcs, sharing edges and corners.

Every corner of a panel's outline gives a corner on the described face and one on the back, every edge a wall between
them; a bend adds an inner and an outer cylinder and a wall at either end. What a panel and its bend share is one
edge, so the faces close to a single skin.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from bracketgen.bending.fold import Folded, strip_frame, turned_frame
from bracketgen.drawing.model.seam import Seam, Tangent, marked_outline, seam_of, tangents_of
from bracketgen.geometry.arc import Arc
from bracketgen.geometry.contour import Circle, Contour, Edge
from bracketgen.geometry.frame import Frame, Vector
from bracketgen.geometry.line import Line
from bracketgen.geometry.point import Point
from bracketgen.part.bend import Bend, Way
from bracketgen.tolerances import SAME_POINT_MM

_SHARP_MM = 1e-9


@dataclass(frozen=True, slots=True)
class Rim:
    """An edge in space from corner `start` to corner `end`: straight, or anticlockwise round `centre` about `axis`."""

    start: int
    end: int
    centre: Vector | None = None
    axis: Vector | None = None
    radius: float = 0.0


@dataclass(frozen=True, slots=True)
class Flatness:
    """A plane: a point, the direction out of the metal, a direction in the plane."""

    origin: Vector
    normal: Vector
    along: Vector


@dataclass(frozen=True, slots=True)
class Roundness:
    """A cylinder: a point on its axis, the axis, a direction square to it; `hollow` when metal lies outside it."""

    origin: Vector
    axis: Vector
    along: Vector
    radius: float
    hollow: bool


@dataclass(frozen=True, slots=True)
class Face:
    """A piece of surface; loops of (edge, 1 = along it, -1 = against it), anticlockwise seen from outside."""

    surface: Flatness | Roundness
    loops: tuple[tuple[tuple[int, int], ...], ...]


@dataclass(slots=True)
class Skin:
    """The closed skin of a part: corners, edges and faces by number."""

    corners: list[Vector] = field(default_factory=list)
    rims: list[Rim] = field(default_factory=list)
    faces: list[Face] = field(default_factory=list)
    _corner_cells: dict[tuple[int, int, int], list[int]] = field(default_factory=dict)
    _rim_numbers: dict[tuple[int, int, int], list[int]] = field(default_factory=dict)

    def corner(self, p: Vector) -> int:
        """The number of the corner at a point; points within SAME_POINT_MM are one."""
        cell = [math.floor(c / (4 * SAME_POINT_MM)) for c in p]
        for i in (cell[0] - 1, cell[0], cell[0] + 1):
            for j in (cell[1] - 1, cell[1], cell[1] + 1):
                for k in (cell[2] - 1, cell[2], cell[2] + 1):
                    for n in self._corner_cells.get((i, j, k), ()):
                        if math.dist(self.corners[n], p) <= SAME_POINT_MM:
                            return n
        self.corners.append(p)
        self._corner_cells.setdefault((cell[0], cell[1], cell[2]), []).append(len(self.corners) - 1)
        return len(self.corners) - 1

    def rim(self, a: int, b: int, arc: tuple[Vector, Vector, float] | None = None) -> tuple[int, int]:
        """The edge from corner a to corner b and the way along it; `arc` = centre, axis, radius, anticlockwise."""
        kind = 0 if arc is None else 1
        for n in self._rim_numbers.get((min(a, b), max(a, b), kind), ()):
            rim = self.rims[n]
            if rim.start == a and _turns_alike(rim.axis, arc, 1.0):
                return n, 1
            if rim.start == b and _turns_alike(rim.axis, arc, -1.0):
                return n, -1
        self.rims.append(Rim(a, b) if arc is None else Rim(a, b, *arc))
        self._rim_numbers.setdefault((min(a, b), max(a, b), kind), []).append(len(self.rims) - 1)
        return len(self.rims) - 1, 1


def _turns_alike(axis: Vector | None, arc: tuple[Vector, Vector, float] | None, sign: float) -> bool:
    if axis is None or arc is None:
        return axis is None and arc is None
    return sum(p * q for p, q in zip(axis, arc[1], strict=True)) * sign > 0


def skin_of(folded: Folded) -> Skin:
    """The skin of the folded part with its finished holes."""
    part = folded.part
    skin = Skin()
    shared: set[tuple[int, int]] = set()
    tangents: dict[str, list[Tangent]] = {panel.id: [] for panel in part.panels}
    for bend in part.bends:
        seam = seam_of(bend, part.panel(bend.parent), part.panel(bend.child))
        _bend_faces(skin, bend, folded, seam, shared)
        for panel_id, tangent in zip((bend.parent, bend.child), tangents_of(bend, seam), strict=True):
            tangents[panel_id].append(tangent)
    for panel in part.panels:
        outline = marked_outline(panel, tangents[panel.id])
        _panel_faces(skin, (outline, *(_hollow(h.cut) for h in panel.holes)), folded, panel.id, shared)
    return skin


def _negative(v: Vector) -> Vector:
    return (-v[0], -v[1], -v[2])


def _panel_faces(
    skin: Skin, chains: Sequence[Contour], folded: Folded, panel_id: str, shared: set[tuple[int, int]]
) -> None:
    frame, t = folded.frames[panel_id], folded.part.stock.thickness_mm
    tops, backs = [], []
    for chain in chains:
        tops.append(tuple(_rim_of(skin, e, frame, 0.0) for e in chain.edges))
        back = [_rim_of(skin, e, frame, -t) for e in chain.edges]
        backs.append(tuple((n, -way) for n, way in reversed(back)))
        for edge in chain.edges:
            if not _is_shared(skin, edge, frame, shared):
                _wall(skin, edge, frame, t)
    skin.faces.append(Face(Flatness(frame.origin, frame.z, frame.x), tuple(tops)))
    below = frame.point((0.0, 0.0, -t))
    skin.faces.append(Face(Flatness(below, _negative(frame.z), frame.x), tuple(backs)))


def _is_shared(skin: Skin, edge: Edge, frame: Frame, shared: set[tuple[int, int]]) -> bool:
    """Whether a bend goes on beyond the edge."""
    if isinstance(edge, Arc):
        return False
    a, b = (skin.corner(frame.point((p.x, p.y, 0.0))) for p in (edge.start, edge.end))
    return (min(a, b), max(a, b)) in shared


def _hollow(cut: Circle | Contour) -> Contour:
    """The edge of a hole with the metal on its left; a circle as two half turns."""
    if isinstance(cut, Contour):
        return cut.anticlockwise().reversed()
    (x, y), r = cut.centre, cut.radius
    a, b = Point(x + r, y), Point(x - r, y)
    return Contour((Arc(a, b, cut.centre, r, -math.pi), Arc(b, a, cut.centre, r, -math.pi)))


def _rim_of(skin: Skin, edge: Edge, frame: Frame, z: float) -> tuple[int, int]:
    a = skin.corner(frame.point((edge.start.x, edge.start.y, z)))
    b = skin.corner(frame.point((edge.end.x, edge.end.y, z)))
    if not isinstance(edge, Arc):
        return skin.rim(a, b)
    axis = frame.z if edge.sweep_rad > 0 else _negative(frame.z)
    return skin.rim(a, b, (frame.point((edge.centre.x, edge.centre.y, z)), axis, edge.radius))


def _wall(skin: Skin, edge: Edge, frame: Frame, t: float) -> None:
    """The face between the described face and the back along one edge that has its metal on the left."""
    top, back = _rim_of(skin, edge, frame, 0.0), _rim_of(skin, edge, frame, -t)
    a_top, b_top = (skin.corner(frame.point((p.x, p.y, 0.0))) for p in (edge.start, edge.end))
    a_back, b_back = (skin.corner(frame.point((p.x, p.y, -t))) for p in (edge.start, edge.end))
    loop = (back, skin.rim(b_back, b_top), (top[0], -top[1]), skin.rim(a_top, a_back))
    if isinstance(edge, Arc):
        centre = frame.point((edge.centre.x, edge.centre.y, 0.0))
        surface: Flatness | Roundness = Roundness(centre, frame.z, frame.x, edge.radius, edge.sweep_rad < 0)
    else:
        d = edge.end.minus(edge.start).unit()
        along = frame.direction((d.x, d.y, 0.0))
        surface = Flatness(frame.point((edge.start.x, edge.start.y, 0.0)), frame.direction((d.y, -d.x, 0.0)), along)
    skin.faces.append(Face(surface, (loop,)))


@dataclass(frozen=True, slots=True)
class _Level:
    """One of a bend's two skins: its corners along the parent's and the child's tangent line, and its arcs."""

    parent: tuple[int, ...]
    child: tuple[int, ...]
    radius: float


def _bend_faces(skin: Skin, bend: Bend, folded: Folded, seam: Seam, shared: set[tuple[int, int]]) -> None:
    t = folded.part.stock.thickness_mm
    near = strip_frame(bend, folded.frames[bend.parent])
    far = turned_frame(bend, t, bend.turn_deg).within(near)
    up = bend.way is Way.UP
    r_top = bend.inside_radius_mm if up else bend.inside_radius_mm + t
    r_back = bend.inside_radius_mm + t if up else bend.inside_radius_mm
    top = _level(skin, near, far, seam, 0.0, r_top)
    back = _level(skin, near, far, seam, -t, r_back)
    lift = bend.inside_radius_mm if up else -t - bend.inside_radius_mm
    axis_point = near.point((0.0, 0.0, lift))
    # Turning up is anticlockwise about +x, turning down about -x.
    axis = near.x if up else _negative(near.x)
    for level, seen in ((top, 1), (back, -1)):
        if level.radius > _SHARP_MM:
            hollow = (seen > 0) == up
            _cylinder(skin, level, axis_point, axis, near, bend.width_mm, seen, hollow)
    for n, x, normal in ((0, 0.0, _negative(near.x)), (-1, bend.width_mm, near.x)):
        _end_wall(skin, top, back, n, near.point((x, 0.0, lift)), axis, normal, near.y)
    shared.update(_held(top.parent, seam.parent), _held(top.child, seam.child))
    for n, (a, b) in enumerate(seam.stretches()):
        # The strip's metal lies beyond the parent's tangent line and before the child's.
        if not seam.parent[n]:
            _wall(skin, Line(Point(a, 0.0), Point(b, 0.0)), near, t)
        if not seam.child[n]:
            _wall(skin, Line(Point(b, 0.0), Point(a, 0.0)), far, t)


def _held(corners: Sequence[int], there: Sequence[bool]) -> Iterator[tuple[int, int]]:
    """The stretches of a tangent line on which a panel is."""
    for (a, b), held in zip(pairwise(corners), there, strict=True):
        if held:
            yield min(a, b), max(a, b)


def _level(skin: Skin, near: Frame, far: Frame, seam: Seam, z: float, radius: float) -> _Level:
    parent, child = (tuple(skin.corner(f.point((x, 0.0, z))) for x in seam.marks) for f in (near, far))
    return _Level(parent, child, radius)


def _arc(skin: Skin, level: _Level, n: int, centre: Vector, axis: Vector) -> list[tuple[int, int]]:
    """From the parent to the child round the bend, at its start (0) or end (-1); nothing when it is sharp."""
    if level.radius <= _SHARP_MM:
        return []
    return [skin.rim(level.parent[n], level.child[n], (centre, axis, level.radius))]


def _against(rims: Iterable[tuple[int, int]]) -> list[tuple[int, int]]:
    return [(n, -way) for n, way in reversed(list(rims))]


def _cylinder(
    skin: Skin, level: _Level, origin: Vector, axis: Vector, near: Frame, width: float, seen: int, hollow: bool
) -> None:
    over = (origin[0] + width * near.x[0], origin[1] + width * near.x[1], origin[2] + width * near.x[2])
    loop = [
        *(skin.rim(a, b) for a, b in pairwise(level.parent)),
        *_arc(skin, level, -1, over, axis),
        *(skin.rim(a, b) for a, b in pairwise(reversed(level.child))),
        *_against(_arc(skin, level, 0, origin, axis)),
    ]
    skin.faces.append(
        Face(Roundness(origin, near.x, near.y, level.radius, hollow), (tuple(loop if seen > 0 else _against(loop)),))
    )


def _end_wall(
    skin: Skin, top: _Level, back: _Level, n: int, centre: Vector, axis: Vector, normal: Vector, along: Vector
) -> None:
    """The wall at one end of a bend: parent up, round the described side, child down, back round the other."""
    loop = [
        skin.rim(back.parent[n], top.parent[n]),
        *_arc(skin, top, n, centre, axis),
        skin.rim(top.child[n], back.child[n]),
        *_against(_arc(skin, back, n, centre, axis)),
    ]
    skin.faces.append(Face(Flatness(centre, normal, along), (tuple(loop if n == 0 else _against(loop)),)))


def open_rims(skin: Skin) -> Sequence[int]:
    """Edges that don't bound exactly two faces, once each way: none when the skin is closed."""
    uses: dict[int, list[int]] = {}
    for face in skin.faces:
        for loop in face.loops:
            for n, way in loop:
                uses.setdefault(n, []).append(way)
    return [n for n in range(len(skin.rims)) if sorted(uses.get(n, ())) != [-1, 1]]
