"""The things beside the part: what they are, and as meshes for a picture: pipes in one piece, walls as large as it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from itertools import pairwise
from typing import Final

from bracketgen.drawing.sheet import PAPER, Colour, mixed
from bracketgen.drawing.solid.facets import Facet, Ink, mesh_facets
from bracketgen.drawing.solid.mesh import Mesh
from bracketgen.drawing.solid.solid_mesh import frame_along, solid_mesh
from bracketgen.geometry.prism import Triangle
from bracketgen.geometry.space import Vector, degrees_between, dot, minus, plus, unit
from bracketgen.vehicle.near.solids import Capsule, Solid, Wall

#: Colours of things by what they are; each thing has its name beside it, so that none has to be told by colour.
MATTER_COLOUR: Final[dict[str, Colour]] = {
    "metal": (206, 198, 184),
    "air": (190, 204, 206),
    "fuel": (222, 204, 150),
    "oil": (196, 184, 140),
    "brake": (214, 178, 166),
    "coolant": (176, 204, 190),
    "exhaust": (206, 160, 134),
    "wire": (188, 182, 202),
    "live": (224, 176, 176),
    "rubber": (146, 142, 138),
    "plastic": (214, 214, 206),
    "moving": (186, 196, 178),
}
BOLT_COLOUR: Final[Colour] = (170, 166, 150)
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
_THIN: Final = Ink(0.25)


class Relation(StrEnum):
    """What a thing has to do with the part; an envelope is the room that a moving thing takes."""

    NEIGHBOUR = "neighbour"
    CARRIED = "carried"
    BOLT = "bolt"
    ENVELOPE = "envelope"


@dataclass(frozen=True, slots=True)
class Thing:
    """A thing beside the part: its name, what it is (a word of the site file), its solids in the site's frame."""

    name: str
    matter: str
    solids: tuple[Solid, ...]
    relation: Relation = Relation.NEIGHBOUR

    @property
    def colour(self) -> Colour:
        """The colour it is drawn in."""
        return BOLT_COLOUR if self.relation is Relation.BOLT else MATTER_COLOUR.get(self.matter, MATTER_COLOUR["metal"])

    @property
    def label(self) -> str:
        """Its name with what it is, where the name doesn't say that."""
        silent = self.matter == "metal" or self.matter in self.name
        return self.name if silent or self.relation is Relation.BOLT else f"{self.name} ({self.matter})"


@dataclass(frozen=True)
class Body:
    """One thing with its closed meshes."""

    thing: Thing
    meshes: tuple[Mesh, ...]

    @property
    def endless(self) -> bool:
        """Whether it is a wall, which has no outline."""
        return all(isinstance(s, Wall) for s in self.thing.solids)

    @cached_property
    def facets(self) -> list[Facet]:
        """Its surfaces, edges in a thin line."""
        return [f for m in self.meshes for f in mesh_facets(m, _THIN)]


def body_of(thing: Thing, centre: Vector, reach_mm: float, chord_mm: float) -> Body:
    """The thing's meshes; walls reach `reach_mm` to every side of the point of theirs nearest to `centre`."""
    meshes = [_tube(points, radius, thing) for points, radius in _runs(thing.solids)]
    for solid in thing.solids:
        if not (isinstance(solid, Capsule) and math.dist(solid.a, solid.b) > _SAME_MM):
            colour = thing.colour
            if isinstance(solid, Wall):
                above = dot(minus(centre, solid.point), solid.normal)
                solid = Wall(plus(centre, solid.normal, -above), solid.normal)
                colour = mixed(colour, PAPER, _WALL_PALE)
            meshes.append(solid_mesh(solid, thing.name, colour, chord_mm=chord_mm, patch_mm=reach_mm))
    return Body(thing, tuple(meshes))


def _runs(solids: Sequence[Solid]) -> list[tuple[list[Vector], float]]:
    """Stretches of pipe that follow each other, as one chain of points."""
    chains: list[tuple[list[Vector], float]] = []
    for s in solids:
        if not isinstance(s, Capsule) or math.dist(s.a, s.b) <= _SAME_MM:
            continue
        if chains and abs(chains[-1][1] - s.radius) <= _SAME_PIPE_MM and _goes_on(chains[-1][0], s):
            chains[-1][0].append(s.b)
        else:
            chains.append(([s.a, s.b], s.radius))
    return [(_thinned(points), radius) for points, radius in chains]


def _goes_on(points: Sequence[Vector], onward: Capsule) -> bool:
    return (
        math.dist(points[-1], onward.a) <= _SAME_MM and _turn_deg(points[-2], points[-1], onward.b) <= _MOST_MITRE_DEG
    )


def _turn_deg(a: Vector, b: Vector, c: Vector) -> float:
    return degrees_between(minus(b, a), minus(c, b))


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


def _tube(points: Sequence[Vector], radius: float, thing: Thing) -> Mesh:
    """A pipe with flat ends, mitred at its corners."""
    n = _PIPE_SIDES
    ways = [unit(minus(b, a)) for a, b in pairwise(points)]
    frame = frame_along(points[0], ways[0])
    turns = [2.0 * math.pi * i / n for i in range(n)]
    ring = [frame.point((radius * math.cos(a), radius * math.sin(a), 0.0)) for a in turns]
    rings = [ring]
    for i, way in enumerate(ways):
        nxt = ways[i + 1] if i + 1 < len(ways) else way
        rings.append([_along(p, way, points[i + 1], plus(way, nxt)) for p in rings[-1]])
    corners = [p for r in rings for p in r] + [points[0], points[-1]]
    return Mesh(thing.name, thing.colour, tuple(corners), tuple(_tube_faces(len(rings), n)))


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
