"""The folded part as exact faces: planes and cylinders bounded by lines and circular arcs, sharing edges and corners.

Every corner of a panel's outline gives a corner on the described face and one on the back, every edge a wall between
them; a bend adds an inner and an outer cylinder and a wall at either end. What a panel and its bend share is one
edge, so the faces close to a single skin.

As a rule a panel and the strip of a bend meet along the whole tangent line. Where the relief of another bend takes a
piece of the panel away, the strip overhangs there; where a panel is wider than the strip, the panel does.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise, product
from typing import Final, Literal, TypeGuard

from bracketgen.bending.fold import Folded, strip_frame, turned_frame
from bracketgen.geometry.contour import Circle, Contour, Edge
from bracketgen.geometry.edge import Arc, Line
from bracketgen.geometry.plane import Point
from bracketgen.geometry.space import Frame, Vector, cross, dot, minus, plus, scaled, unit
from bracketgen.part.part import Bend, Panel, Way
from bracketgen.tolerances import SAME_POINT_MM

#: Surfaces that turn by more than this show the edge between them, as its cosine.
SHARP: Final = math.cos(math.radians(25.0))
_SHARP_MM = 1e-9
_CELL_MM = 4 * SAME_POINT_MM
#: A rim of the skin by number, and 1 = along it, -1 = against it.
Turn = tuple[int, int]
Span = tuple[float, float]
#: A round edge in space: centre, axis, radius; it runs anticlockwise about the axis.
Round = tuple[Vector, Vector, float]


@dataclass(frozen=True, slots=True)
class Rim:
    """An edge in space from corner `start` to corner `end`: straight, or anticlockwise round `centre` about `axis`."""

    start: int
    end: int
    centre: Vector | None = None
    axis: Vector | None = None
    radius: float = 0.0


@dataclass(frozen=True, slots=True)
class Plane:
    """A point, the direction out of the metal, a direction in the plane."""

    origin: Vector
    normal: Vector
    along: Vector

    def out(self, _p: Vector) -> Vector:
        """Unit direction out of the metal."""
        return self.normal


@dataclass(frozen=True, slots=True)
class Cylinder:
    """A point on its axis, the axis, a direction square to it; `hollow` when metal lies outside it."""

    origin: Vector
    axis: Vector
    along: Vector
    radius: float
    hollow: bool

    def out(self, p: Vector) -> Vector:
        """Unit direction out of the metal at a point of the surface."""
        off = minus(p, self.origin)
        return scaled(unit(minus(off, scaled(self.axis, dot(off, self.axis)))), -1.0 if self.hollow else 1.0)


@dataclass(frozen=True, slots=True)
class Face:
    """A piece of surface; loops of rims, anticlockwise seen from outside, the outer one first.

    `shows` names its panel or bend, `side` says which side of the metal it is, `way` is set for a bend.
    """

    surface: Plane | Cylinder
    loops: tuple[tuple[Turn, ...], ...]
    shows: str
    side: Literal["described", "back", "cut"]
    way: Way | None = None


@dataclass(slots=True)
class Skin:
    """The closed skin of a part: corners, edges and faces by number."""

    corners: list[Vector] = field(default_factory=list)
    rims: list[Rim] = field(default_factory=list)
    faces: list[Face] = field(default_factory=list)
    _corner_cells: dict[tuple[int, ...], list[int]] = field(default_factory=dict)
    _rim_numbers: dict[tuple[int, int, bool], list[int]] = field(default_factory=dict)

    def corner(self, p: Vector) -> int:
        """The number of the corner at a point; points within SAME_POINT_MM are one."""
        reach = ({math.floor((c + s) / _CELL_MM) for s in (-SAME_POINT_MM, SAME_POINT_MM)} for c in p)
        for cell in product(*reach):
            for n in self._corner_cells.get(cell, ()):
                if math.dist(self.corners[n], p) <= SAME_POINT_MM:
                    return n
        self.corners.append(p)
        self._corner_cells.setdefault(tuple(math.floor(c / _CELL_MM) for c in p), []).append(len(self.corners) - 1)
        return len(self.corners) - 1

    def rim(self, a: int, b: int, arc: Round | None = None) -> Turn:
        """The edge from corner a to corner b and the way along it."""
        numbers = self._rim_numbers.setdefault((min(a, b), max(a, b), arc is None), [])
        for n in numbers:
            rim = self.rims[n]
            for start, way in ((rim.start, 1), (rim.end, -1)):
                if start == a and (arc is None or rim.axis is None or dot(rim.axis, arc[1]) * way > 0):
                    return n, way
        self.rims.append(Rim(a, b) if arc is None else Rim(a, b, *arc))
        numbers.append(len(self.rims) - 1)
        return len(self.rims) - 1, 1

    def open_rims(self) -> list[int]:
        """Edges that don't bound exactly two faces, once each way: none when the skin is closed."""
        return [n for n, uses in enumerate(self.faces_at()) if sorted(way for _, way in uses) != [-1, 1]]

    def faces_at(self) -> list[list[tuple[Face, int]]]:
        """For every rim the faces that it bounds, and which way round it."""
        uses: list[list[tuple[Face, int]]] = [[] for _ in self.rims]
        for face in self.faces:
            for n, way in (turn for loop in face.loops for turn in loop):
                uses[n].append((face, way))
        return uses

    def sharp_rims(self) -> list[bool]:
        """For every rim whether it shows from everywhere: its two faces meet at an angle, or it is open."""
        made: list[bool] = []
        for rim, uses in zip(self.rims, self.faces_at(), strict=True):
            outs = [face.surface.out(self.corners[rim.start]) for face, _ in uses]
            made.append(len(outs) != 2 or dot(*outs) < SHARP)
        return made

    def sweep_rad(self, rim: Rim) -> float:
        """How far a round rim turns, 0 to 2 pi."""
        assert rim.centre is not None and rim.axis is not None
        out, end = (minus(self.corners[n], rim.centre) for n in (rim.start, rim.end))
        return math.atan2(dot(end, cross(rim.axis, out)), dot(end, out)) % math.tau

    def at(self, rim: Rim, turn_rad: float) -> Vector:
        """The point of a round rim so far from its start."""
        assert rim.centre is not None and rim.axis is not None
        out = minus(self.corners[rim.start], rim.centre)
        return plus(plus(rim.centre, out, math.cos(turn_rad)), cross(rim.axis, out), math.sin(turn_rad))

    def reach(self, way: Vector) -> Span:
        """The least and the greatest reach of the metal along a unit direction, mm: exact at round faces too."""
        values = [dot(p, way) for p in self.corners]
        for rim in self.rims:
            if rim.centre is None or rim.axis is None:
                continue
            out = minus(self.corners[rim.start], rim.centre)
            # The place on the arc that is farthest along the direction, and the one opposite.
            first = math.atan2(dot(cross(rim.axis, out), way), dot(out, way))
            sweep = self.sweep_rad(rim)
            values += [dot(self.at(rim, a), way) for t in (first, first + math.pi) if (a := t % math.tau) < sweep]
        return min(values), max(values)

    @property
    def size_mm(self) -> Vector:
        """How long the skin is along x, y and z."""
        x, y, z = ((high - low) for low, high in map(self.reach, ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))))
        return x, y, z


def skin_of(folded: Folded) -> Skin:
    """The skin of the folded part with its finished holes."""
    part, t = folded.part, folded.part.stock.thickness_mm
    skin = Skin()
    shared: set[tuple[int, int]] = set()
    tangents: dict[str, list[TangentLine]] = {panel.id: [] for panel in part.panels}
    for bend in part.bends:
        seam = seam_of(bend, part.panel(bend.parent), part.panel(bend.child))
        _bend_faces(skin, bend, folded, seam, shared)
        for panel_id, tangent in zip((bend.parent, bend.child), tangents_of(bend, seam), strict=True):
            tangents[panel_id].append(tangent)
    for panel in part.panels:
        frame, shows = folded.frames[panel.id], f"panel {panel.id}"
        tops, backs = [], []
        for chain in (marked_outline(panel, tangents[panel.id]), *(_hollow(h.cut) for h in panel.holes)):
            top, back = _walls(skin, chain.edges, frame, t, (shows, None), shared)
            tops.append(top)
            backs.append(_against(back))
        below = frame.point((0.0, 0.0, -t))
        skin.faces.append(Face(Plane(frame.origin, frame.z, frame.x), tuple(tops), shows, "described"))
        skin.faces.append(Face(Plane(below, scaled(frame.z, -1.0), frame.x), tuple(backs), shows, "back"))
    return skin


def _hollow(cut: Circle | Contour) -> Contour:
    """The edge of a hole with the metal on its left; a circle as two half turns."""
    if isinstance(cut, Contour):
        return cut.anticlockwise().reversed()
    (x, y), r = cut.centre, cut.radius
    a, b = Point(x + r, y), Point(x - r, y)
    return Contour((Arc(a, b, cut.centre, r, -math.pi), Arc(b, a, cut.centre, r, -math.pi)))


def _walls(
    skin: Skin, edges: Sequence[Edge], frame: Frame, t: float, of: tuple[str, Way | None],
    shared: set[tuple[int, int]] | None = None,
) -> tuple[tuple[Turn, ...], tuple[Turn, ...]]:  # fmt: skip
    """The faces between the described face and the back along edges with their metal on the left, but shared ones.

    Gives back the rims along the described face and along the back.
    """
    levels: list[tuple[list[int], tuple[Turn, ...]]] = []
    for z in (0.0, -t):
        ends, rims = [skin.corner(frame.point((edges[0].start.x, edges[0].start.y, z)))], []
        for edge in edges:
            ends.append(skin.corner(frame.point((edge.end.x, edge.end.y, z))))
            arc = None
            if isinstance(edge, Arc):
                axis = frame.z if edge.sweep_rad > 0 else scaled(frame.z, -1.0)
                arc = (frame.point((edge.centre.x, edge.centre.y, z)), axis, edge.radius)
            rims.append(skin.rim(ends[-2], ends[-1], arc))
        levels.append((ends, tuple(rims)))
    (tops, top), (backs, back) = levels
    for i, edge in enumerate(edges):
        a, b = tops[i], tops[i + 1]
        if shared and isinstance(edge, Line) and (min(a, b), max(a, b)) in shared:
            continue
        loop = (back[i], skin.rim(backs[i + 1], b), (top[i][0], -top[i][1]), skin.rim(a, backs[i]))
        if isinstance(edge, Arc):
            centre = frame.point((edge.centre.x, edge.centre.y, 0.0))
            surface: Plane | Cylinder = Cylinder(centre, frame.z, frame.x, edge.radius, edge.sweep_rad < 0)
        else:
            d = edge.end.minus(edge.start).unit()
            along = frame.direction((d.x, d.y, 0.0))
            surface = Plane(frame.point((edge.start.x, edge.start.y, 0.0)), frame.direction((d.y, -d.x, 0.0)), along)
        skin.faces.append(Face(surface, (loop,), of[0], "cut", of[1]))
    return top, back


def _against(turns: Iterable[Turn]) -> tuple[Turn, ...]:
    return tuple((n, -way) for n, way in reversed(list(turns)))


#: One of a bend's two skins: its corners along the parent's and the child's tangent line, and its radius.
_Level = tuple[tuple[int, ...], tuple[int, ...], float]


def _bend_faces(skin: Skin, bend: Bend, folded: Folded, seam: BendSeam, shared: set[tuple[int, int]]) -> None:
    t, width, shows, way = folded.part.stock.thickness_mm, bend.width_mm, f"bend {bend.id}", bend.way
    near = strip_frame(bend, folded.frames[bend.parent])
    far = turned_frame(bend, t, bend.turn_deg).within(near)
    up = way is Way.UP
    radii = (bend.inside_radius_mm, bend.inside_radius_mm + t)
    lift = bend.inside_radius_mm if up else -t - bend.inside_radius_mm
    # Turning up is anticlockwise about +x, turning down about -x.
    centres, axis = [near.point((x, 0.0, lift)) for x in (0.0, width)], near.x if up else scaled(near.x, -1.0)
    levels: list[_Level] = []
    for z, radius in zip((0.0, -t), radii if up else radii[::-1], strict=True):
        parent, child = (tuple(skin.corner(f.point((x, 0.0, z))) for x in seam.marks) for f in (near, far))
        levels.append((parent, child, radius))

    def arc(level: _Level, n: int) -> tuple[Turn, ...]:
        """From the parent to the child round the bend, at its start (0) or end (-1); nothing when it is sharp."""
        parent, child, radius = level
        return (skin.rim(parent[n], child[n], (centres[n], axis, radius)),) if radius > _SHARP_MM else ()

    for level, described in zip(levels, (True, False), strict=True):
        parent, child, radius = level
        if radius > _SHARP_MM:
            loop = (
                *(skin.rim(a, b) for a, b in pairwise(parent)), *arc(level, -1),
                *(skin.rim(a, b) for a, b in pairwise(reversed(child))), *_against(arc(level, 0)),
            )  # fmt: skip
            surface = Cylinder(centres[0], near.x, near.y, radius, described == up)
            side: Literal["described", "back"] = "described" if described else "back"
            skin.faces.append(Face(surface, (loop if described else _against(loop),), shows, side, way))
    # The wall at either end: parent up, round the described side, child down, back round the other.
    top, back = levels
    for n, normal in ((0, scaled(near.x, -1.0)), (-1, near.x)):
        loop = (
            skin.rim(back[0][n], top[0][n]), *arc(top, n),
            skin.rim(top[1][n], back[1][n]), *_against(arc(back, n)),
        )  # fmt: skip
        skin.faces.append(Face(Plane(centres[n], normal, near.y), (_against(loop) if n else loop,), shows, "cut", way))
    for ends, there in ((top[0], seam.parent), (top[1], seam.child)):
        shared.update((min(a, b), max(a, b)) for (a, b), held in zip(pairwise(ends), there, strict=True) if held)
    for (a, b), held, holds in zip(seam.stretches(), seam.parent, seam.child, strict=True):
        # The strip's metal lies beyond the parent's tangent line and before the child's.
        if not held:
            _walls(skin, (Line(Point(a, 0.0), Point(b, 0.0)),), near, t, (shows, way))
        if not holds:
            _walls(skin, (Line(Point(b, 0.0), Point(a, 0.0)),), far, t, (shows, way))


# -- where the strip of a bend meets its two panels


@dataclass(frozen=True, slots=True)
class BendSeam:
    """The marks along a bend from 0 to its width, mm, and for each stretch between two whether a panel is there."""

    marks: tuple[float, ...]
    parent: tuple[bool, ...]
    child: tuple[bool, ...]

    def stretches(self) -> Sequence[Span]:
        """From mark to mark."""
        return tuple(pairwise(self.marks))


@dataclass(frozen=True, slots=True)
class TangentLine:
    """A tangent line as the edge of its panel: metal on its left. `marks` are those of its seam, as points."""

    line: Line
    marks: tuple[Point, ...]


def seam_of(bend: Bend, parent: Panel, child: Panel) -> BendSeam:
    """The seam of a bend; both of its tangent lines have the same marks."""
    width = bend.width_mm
    # The parent's outline runs against the bend.
    against = [(width - b, width - a) for a, b in _spans(bend.parent_line.reversed(), parent)]
    sides = [against, list(_spans(bend.child_line, child))]
    marks = [0.0]
    for x in sorted(x for spans in sides for span in spans for x in span):
        if marks[-1] + SAME_POINT_MM < x < width - SAME_POINT_MM:
            marks.append(x)
    marks.append(width)
    middles = [(a + b) / 2 for a, b in pairwise(marks)]
    there = [tuple(any(a < x < b for a, b in spans) for x in middles) for spans in sides]
    return BendSeam(tuple(marks), there[0], there[1])


def tangents_of(bend: Bend, seam: BendSeam) -> tuple[TangentLine, ...]:
    """The parent's tangent line and the child's."""
    return tuple(
        TangentLine(line, tuple(_at(bend_line, x) for x in seam.marks))
        for line, bend_line in ((bend.parent_line.reversed(), bend.parent_line), (bend.child_line, bend.child_line))
    )


def marked_outline(panel: Panel, tangents: Sequence[TangentLine]) -> Contour:
    """The panel's outline with a corner at every mark that lies within one of its edges."""
    return Contour(tuple(piece for edge in panel.outline.edges for piece in _pieces(edge, tangents)))


def _at(line: Line, x: float) -> Point:
    return line.start.plus(line.end.minus(line.start).unit(), x)


def _spans(tangent: Line, panel: Panel) -> Iterator[Span]:
    """What the panel's outline takes of a tangent line with the panel on its left, mm along it."""
    for edge in panel.outline.edges:
        if _runs_on(edge, tangent):
            yield tangent.along(edge.start), tangent.along(edge.end)


def _runs_on(edge: Edge, tangent: Line) -> TypeGuard[Line]:
    """Whether the edge lies on the tangent line and runs along it."""
    if not isinstance(edge, Line):
        return False
    along = tangent.end.minus(tangent.start).unit()
    beside = [abs(along.cross(p.minus(tangent.start))) for p in (edge.start, edge.end)]
    return max(beside) <= SAME_POINT_MM and along.dot(edge.end.minus(edge.start)) > 0.0


def _pieces(edge: Edge, tangents: Iterable[TangentLine]) -> Sequence[Edge]:
    if not isinstance(edge, Line):
        return (edge,)
    marks = [p for tangent in tangents if _runs_on(edge, tangent.line) for p in tangent.marks]
    inner = [p for p in marks if SAME_POINT_MM < edge.along(p) < edge.length - SAME_POINT_MM]
    points = [edge.start, *sorted(inner, key=edge.along), edge.end]
    return [Line(a, b) for a, b in pairwise(points)]
