"""A quick guess for the search: by how much sample points of the metal fall short of their gaps to what stands near.

Only a guess, points instead of plates: proposals are judged by exact gaps afterwards.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from bracketgen.geometry.space import Frame, Vector
from bracketgen.standards.table import LookupFault
from bracketgen.vehicle.near.gaps.solids import Block, Bow, Capsule, Drum, Plate, Solid, Wall
from bracketgen.vehicle.near.motion import relative_travel
from bracketgen.vehicle.near.required import Motion, needed_to_part
from bracketgen.vehicle.near.scene import kind_of
from bracketgen.vehicle.near.site_solids import ShapeFault, solids_of
from bracketgen.vehicle.site.site import Site
from bracketgen.vehicle.site.tables import Thing
from bracketgen.vehicle.span.seat import Floats, carried_frame

#: What is missing in the metal's thickness and the samples' coarseness, mm (common practice, no source).
_SPARE_MM = 4.0


@dataclass(frozen=True, slots=True)
class Obstacle:
    """A solid of the thing `name`, the gap that metal has to keep from it, mm, and the same however it moves."""

    name: str
    solid: Solid
    needed_mm: float
    keep_mm: float


def obstacles(site: Site, body: str) -> tuple[Obstacle, ...]:
    """What stands near a bracket that is bolted to `body`, with gaps widened by how things move; carried
    things where they are wished."""
    document = site.document
    found: list[Obstacle] = []
    for name, table in document.neighbours.items():
        found += _obstacles(name, table, Frame(), _travel_mm(site, body, table.body))
    if document.carried is not None:
        frame = carried_frame(document.carried)
        for name, thing in document.carried.things.items():
            found += _obstacles(f"carried {name}", thing, frame, 0.0)
    return tuple(found)


def _travel_mm(site: Site, body: str, other: str) -> float:
    try:
        return math.hypot(*relative_travel(body, other, site.document.bodies).mm)
    except LookupFault:
        return 0.0


def _obstacles(name: str, thing: Thing, frame: Frame, travel_mm: float) -> list[Obstacle]:
    try:
        solids = solids_of(thing, frame)
        needed = needed_to_part(kind_of(thing), Motion.APART if travel_mm else Motion.TOGETHER).mm or 0.0
    except (ShapeFault, LookupFault):
        # Whoever judges the proposals says what is wrong with it.
        return []
    touches = thing.gap == 0.0
    return [Obstacle(name, s, needed, needed + travel_mm + (0.0 if touches else _SPARE_MM)) for s in solids]


def crowding(things: tuple[Obstacle, ...]) -> Callable[[Floats], Floats] | None:
    """For points (n, m, 3): by how many mm the worst of each row falls short; below 0 to spare. None for nothing."""
    if not things:
        return None

    def short(points: Floats) -> Floats:
        rows = [o.keep_mm - distance(points, o.solid).min(axis=1) for o in things]
        return np.asarray(np.max(rows, axis=0))

    return short


def distance(points: Floats, solid: Solid) -> Floats:
    """From points (..., 3) to a solid, mm; negative inside, but for plates and bends, which are never asked."""
    match solid:
        case Capsule(a, b, radius):
            start, way = np.array(a), np.array(b) - np.array(a)
            share = np.clip((points - start) @ way / max(float(way @ way), 1e-12), 0.0, 1.0)
            return np.asarray(np.linalg.norm(points - start - share[..., None] * way, axis=-1) - radius)
        case Drum(a, b, radius):
            return _to_drum(points, a, b, radius)
        case Block(frame, half):
            local = (points - np.array(frame.origin)) @ np.array([frame.x, frame.y, frame.z]).T
            over = np.abs(local) - np.array(half)
            return _outside(over)
        case Wall(point, normal):
            return np.asarray((points - np.array(point)) @ np.array(normal))
        case Plate() | Bow():
            raise ValueError("plates and bends are no obstacles of a site")


def _to_drum(points: Floats, a: Vector, b: Vector, radius: float) -> Floats:
    start, way = np.array(a), np.array(b) - np.array(a)
    size = float(np.linalg.norm(way))
    along = (points - start) @ (way / size)
    out = np.linalg.norm(points - start - along[..., None] * (way / size), axis=-1)
    return _outside(np.stack([np.abs(along - size / 2) - size / 2, out - radius], axis=-1))


def _outside(over: Floats) -> Floats:
    """Distance to a body square in each of these, from how far a point stands over each of its limits."""
    return np.asarray(np.linalg.norm(np.maximum(over, 0.0), axis=-1) + np.minimum(over.max(axis=-1), 0.0))
