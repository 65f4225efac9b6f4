"""Solids and the folded part as closed triangle meshes.

The corners of every mesh lie on the true surface, and no triangle strays farther than the chord error from it: round
solids come out smaller by at most that much, round holes tighter.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import singledispatch
from typing import Final

from bracketgen.bending.fold import Folded
from bracketgen.drawing.marks.flat_lines import ring_points
from bracketgen.drawing.sheet import Colour
from bracketgen.drawing.solid.mesh import Finish, Mesh
from bracketgen.geometry.prism import Triangle, triangles
from bracketgen.geometry.space import Frame, Vector, cross, minus, unit
from bracketgen.vehicle.near.solids import Block, Bow, Capsule, Drum, Plate, Solid, Wall, metal_solids

#: Half of an endless wall's patch, and how thick it is drawn, mm.
PATCH_MM: Final = 150.0
PATCH_THICK_MM: Final = 2.0
#: A round has at least this many sides, however large the chord error.
_LEAST_SIDES: Final = 12

Shape = tuple[list[Vector], list[Triangle]]


def solid_mesh(
    solid: Solid,
    name: str,
    colour: Colour,
    *,
    chord_mm: float,
    finish: Finish = Finish.SOLID,
    patch_mm: float = PATCH_MM,
) -> Mesh:
    """A solid's closed mesh, no farther than `chord_mm` (> 0) from its true surface.

    A wall has no end: it is shown as a thin square patch around its point, `patch_mm` to every side.
    Raises GeometryFault for a plate whose holes touch each other or its outline.
    """
    if not chord_mm > 0.0:
        raise ValueError(f"chord error {chord_mm} mm: must be above 0")
    if isinstance(solid, Wall):
        frame = frame_along(solid.point, solid.normal)
        middle = frame.point((0.0, 0.0, -PATCH_THICK_MM / 2))
        solid = Block(Frame(middle, frame.x, frame.y, frame.z), (patch_mm, patch_mm, PATCH_THICK_MM / 2))
    points, faces = _shape(solid, chord_mm)
    return Mesh(name, colour, tuple(points), tuple(faces), finish)


def part_meshes(folded: Folded, frame: Frame, colour: Colour, *, chord_mm: float) -> list[Mesh]:
    """The folded part at `frame`: one closed mesh a panel, then a bend; those that join share the wall between them."""
    count = len(folded.part.panels)
    kinds = ["panel"] * count + ["bend"] * len(folded.part.bends)
    return [
        solid_mesh(solid, f"part: {kind} {name.removeprefix('bend ')}", colour, chord_mm=chord_mm)
        for kind, (name, solid) in zip(kinds, metal_solids(folded, frame), strict=True)
    ]


def frame_along(origin: Vector, z: Vector) -> Frame:
    """A frame with the given z direction (of any length above 0); x lies level with the outer x-y plane if it can."""
    z = unit(z)
    flat = math.hypot(z[0], z[1])
    x = (-z[1] / flat, z[0] / flat, 0.0) if flat > 1e-9 else (1.0, 0.0, 0.0)
    return Frame(origin, x, cross(z, x), z)


@singledispatch
def _shape(solid: Solid, chord_mm: float) -> Shape:
    raise TypeError(f"no mesh of {type(solid).__name__}")


@_shape.register
def _capsule(solid: Capsule, chord_mm: float) -> Shape:
    # A facet of a ball is bent both ways: each way may use half of the chord error.
    sides = _sides(solid.radius, chord_mm / 2)
    steps = max(2, math.ceil(sides / 4))
    length = math.dist(solid.a, solid.b)
    quarter = [math.pi / 2 * i / steps for i in range(steps + 1)]
    low = [(-solid.radius * math.cos(a), solid.radius * math.sin(a)) for a in quarter]
    high = [(length - z, r) for z, r in reversed(low)]
    profile = low[1:] + high[:-1] if length > 0.0 else low[1:] + high[1:-1]
    frame = frame_along(solid.a, minus(solid.b, solid.a) if length > 0.0 else (0.0, 0.0, 1.0))
    return _turned(frame, -solid.radius, profile, length + solid.radius, sides)


@_shape.register
def _drum(solid: Drum, chord_mm: float) -> Shape:
    length = math.dist(solid.a, solid.b)
    profile = [(0.0, solid.radius), (length, solid.radius)]
    return _turned(frame_along(solid.a, minus(solid.b, solid.a)), 0.0, profile, length, _sides(solid.radius, chord_mm))


@_shape.register
def _block(solid: Block, chord_mm: float) -> Shape:
    a, b, c = solid.half
    corners = [(-a, -b), (a, -b), (a, b), (-a, b)]
    points = [solid.frame.point((x, y, z)) for z in (-c, c) for x, y in corners]
    return points, [(0, 2, 1), (0, 3, 2), (4, 5, 6), (4, 6, 7), *walls(range(4), 4)]


@_shape.register
def _plate(solid: Plate, chord_mm: float) -> Shape:
    rings = [ring_points(cut, chord_mm) for cut in (solid.outline, *solid.holes)]
    flat = triangles(rings)
    count = sum(map(len, rings))
    points = [solid.frame.point((p.x, p.y, z)) for z in (solid.low, solid.high) for ring in rings for p in ring]
    faces = [t for a, b, c in flat for t in ((a, c, b), (a + count, b + count, c + count))]
    start = 0
    for number, ring in enumerate(rings):
        order = range(start, start + len(ring))
        faces += walls(order if number == 0 else order[::-1], count)
        start += len(ring)
    return points, faces


@_shape.register
def _bow_shape(solid: Bow, chord_mm: float) -> Shape:
    turn = math.radians(solid.turn_deg)
    steps = max(1, math.ceil(turn / (2.0 * math.pi) * _sides(solid.outer, chord_mm)))
    section = [
        (r * math.sin(turn * i / steps), -r * math.cos(turn * i / steps))
        for r, order in ((solid.inner, range(steps, -1, -1)), (solid.outer, range(steps + 1)))
        for i in order
    ]
    count = len(section)
    points = [solid.frame.point((x, y, z)) for x in (0.0, solid.width) for y, z in section]
    # Inner and outer points of the same turn stand at i and count - 1 - i.
    quads = [(i, i + 1, count - 2 - i, count - 1 - i) for i in range(steps)]
    ends = [t for a, b, c, d in quads for t in ((a, b, c), (a, c, d))]
    faces = [t for a, b, c in ends for t in ((a, c, b), (a + count, b + count, c + count))]
    return points, [*faces, *walls(range(count), count)]


def _sides(radius: float, chord_mm: float) -> int:
    """How many sides a round needs so that none is farther than `chord_mm` from it."""
    half = math.acos(1.0 - chord_mm / radius) if chord_mm < radius else math.pi
    return max(_LEAST_SIDES, math.ceil(math.pi / half))


def walls(ring: Sequence[int], up: int) -> list[Triangle]:
    """The walls between a ring (anticlockwise around metal, seen from above) and the same ring `up` places later."""
    made: list[Triangle] = []
    for a, b in zip(ring, (*ring[1:], ring[0]), strict=True):
        made += [(a, b, b + up), (a, b + up, a + up)]
    return made


def _turned(frame: Frame, low: float, profile: Sequence[tuple[float, float]], high: float, sides: int) -> Shape:
    """A body of rotation about the frame's z: poles at `low` and `high`, rings at (z, radius) between, upward."""
    turns = [2.0 * math.pi * i / sides for i in range(sides)]
    points = [frame.point((r * math.cos(a), r * math.sin(a), z)) for z, r in profile for a in turns]
    top = len(points) - sides
    pole, far = len(points), len(points) + 1
    faces: list[Triangle] = []
    for i in range(sides):
        k = (i + 1) % sides
        faces += [(pole, k, i), (far, top + i, top + k)]
    for start in range(0, top, sides):
        faces += walls(range(start, start + sides), sides)
    return [*points, frame.point((0.0, 0.0, low)), frame.point((0.0, 0.0, high))], faces
