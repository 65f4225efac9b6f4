"""The things of a scene as meshes for a picture: pipes in one piece, walls as large as the picture."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from bracketgen.bending.fold import Folded
from bracketgen.drawing.model.mesh_of import PATCH_THICK_MM, frame_along, solid_mesh
from bracketgen.drawing.model.model3d import Mesh
from bracketgen.drawing.paper.palette import PAPER, mixed
from bracketgen.drawing.site.scene import Shown
from bracketgen.fit.near.gaps.solids import Block, Capsule, Solid, Wall
from bracketgen.fit.seating.placed import Placed
from bracketgen.geometry.frame import Frame, Vector
from bracketgen.geometry.triangles import Triangle
from bracketgen.geometry.vector import degrees_between, dot, minus, plus, unit

#: Sides of a pipe in the picture, and the turn of its middle line (degrees) that is worth a corner of its own.
_PIPE_SIDES: Final = 20
_WORTH_A_CORNER_DEG: Final = 7.0
#: Beyond this turn two runs of a pipe are drawn apart.
_MOST_MITRE_DEG: Final = 100.0
_SAME_MM: Final = 1e-3
#: Runs whose radii differ by less belong to one pipe: in its bends short straight runs are taken a little thicker.
_SAME_PIPE_MM: Final = 0.5
#: Walls fill much of a picture: they are drawn pale, this much nearer to the paper's colour.
_WALL_PALE: Final = 0.6


@dataclass(frozen=True, slots=True)
class Body:
    """One thing with its closed meshes."""

    shown: Shown
    meshes: tuple[Mesh, ...]

    @property
    def endless(self) -> bool:
        """Whether it is a wall, which has no outline."""
        return all(isinstance(s, Wall) for s in self.shown.solids)


def placed_folded(placed: Placed) -> Folded:
    """The folded part with all its frames given in the site."""
    folded = placed.folded
    return Folded(folded.part, {name: f.within(placed.frame) for name, f in folded.frames.items()})


def body_of(shown: Shown, centre: Vector, reach_mm: float, chord_mm: float) -> Body:
    """The thing's meshes; walls reach `reach_mm` to every side of the point of theirs nearest to `centre`."""
    meshes = [_tube(run, shown) for run in _runs(shown.solids)]
    solid: Solid
    for solid in shown.solids:
        if not (isinstance(solid, Capsule) and math.dist(solid.a, solid.b) > _SAME_MM):
            colour = shown.colour
            if isinstance(solid, Wall):
                solid, colour = _patch(solid, centre, reach_mm), mixed(colour, PAPER, _WALL_PALE)
            meshes.append(solid_mesh(solid, shown.name, colour, chord_mm=chord_mm))
    return Body(shown, tuple(meshes))


def _patch(wall: Wall, centre: Vector, reach_mm: float) -> Block:
    above = dot(minus(centre, wall.point), wall.normal)
    frame = frame_along(plus(centre, wall.normal, -above), wall.normal)
    middle = frame.point((0.0, 0.0, -PATCH_THICK_MM / 2))
    return Block(Frame(middle, frame.x, frame.y, frame.z), (reach_mm, reach_mm, PATCH_THICK_MM / 2))


@dataclass(frozen=True, slots=True)
class _Run:
    points: tuple[Vector, ...]
    radius: float


def _runs(solids: Sequence[Solid]) -> list[_Run]:
    """Stretches of pipe that follow each other, as one chain of points."""
    chains: list[tuple[list[Vector], float]] = []
    for s in solids:
        if not isinstance(s, Capsule) or math.dist(s.a, s.b) <= _SAME_MM:
            continue
        if chains and abs(chains[-1][1] - s.radius) <= _SAME_PIPE_MM and _goes_on(chains[-1][0], s):
            chains[-1][0].append(s.b)
        else:
            chains.append(([s.a, s.b], s.radius))
    return [_Run(tuple(_thinned(points)), radius) for points, radius in chains]


def _goes_on(points: Sequence[Vector], onward: Capsule) -> bool:
    return (
        math.dist(points[-1], onward.a) <= _SAME_MM and _turn_deg(points[-2], points[-1], onward.b) <= _MOST_MITRE_DEG
    )


def _turn_deg(a: Vector, b: Vector, c: Vector) -> float:
    return degrees_between(minus(b, a), minus(c, b))


def _towards(a: Vector, b: Vector) -> Vector:
    return unit(minus(b, a))


def _thinned(points: Sequence[Vector]) -> list[Vector]:
    """The chain without corners that hardly turn it; the ends of straight runs stay."""
    kept = [points[0]]
    turned = 0.0
    for i in range(1, len(points) - 1):
        turned += _turn_deg(points[i - 1], points[i], points[i + 1])
        if turned >= _WORTH_A_CORNER_DEG:
            kept.append(points[i])
            turned = 0.0
    return [*kept, points[-1]]


def _tube(run: _Run, shown: Shown) -> Mesh:
    """A pipe with flat ends, mitred at its corners."""
    points, n = run.points, _PIPE_SIDES
    ways = [_towards(a, b) for a, b in pairwise(points)]
    frame = frame_along(points[0], ways[0])
    turns = [2.0 * math.pi * i / n for i in range(n)]
    ring = [frame.point((run.radius * math.cos(a), run.radius * math.sin(a), 0.0)) for a in turns]
    rings = [ring]
    for i, way in enumerate(ways):
        nxt = ways[i + 1] if i + 1 < len(ways) else way
        rings.append([_along(p, way, points[i + 1], plus(way, nxt)) for p in rings[-1]])
    corners = [p for r in rings for p in r] + [points[0], points[-1]]
    return Mesh(shown.name, shown.colour, tuple(corners), tuple(_tube_faces(len(rings), n)))


def _along(p: Vector, way: Vector, on: Vector, normal: Vector) -> Vector:
    """Where the line from `p` along `way` meets the plane through `on`."""
    return plus(p, way, dot(minus(on, p), normal) / dot(way, normal))


def _tube_faces(rings: int, n: int) -> list[Triangle]:
    made: list[Triangle] = []
    last, start, end = n * (rings - 1), n * rings, n * rings + 1
    for i in range(n):
        k = (i + 1) % n
        made += [(start, k, i), (end, last + i, last + k)]
        for r in range(0, last, n):
            made += [(r + i, r + k, r + n + k), (r + i, r + n + k, r + n + i)]
    return made
