"""What leaks or sprays from a filter or can in service falls on nothing hot."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from bracketgen.findings import Finding, Level
from bracketgen.geometry.arrays import Floats
from bracketgen.geometry.space import Vector, dot, minus, plus, scaled, unit, vector
from bracketgen.rules.engine import NO_SOURCE, cited, up_mm
from bracketgen.rules.in_place import DRIP
from bracketgen.vehicle.near.clearance import spot
from bracketgen.vehicle.near.scene import Role, Scene, Standing
from bracketgen.vehicle.near.solids import Block, Capsule, Drum, Solid, Wall
from bracketgen.vehicle.site import PipeTable, WallTable

#: What burns on a hot surface; coolant does once its water is gone.
FLAMMABLE: Final = frozenset({"fuel", "oil", "brake", "coolant"})
#: Surfaces from here on set fire to oil; SOLAS chapter II-2 asks for insulation above 220 degrees C (read in IMCA
#: safety flash 11/05).
HOT_C: Final = 220.0
#: Half of the spray cone's angle, from straight down; common practice, no source.
HALF_CONE_DEG: Final = 30.0
#: A patch of a hot wall this far to every side is looked at, mm.
_PATCH_MM: Final = 1000.0
_GRID: Final = 17
_FINER: Final = 12


@dataclass(frozen=True, slots=True)
class Cone:
    """The room below a joint that drips and spray can reach: `top` and `radius` of the joint, `down` a unit vector."""

    top: Vector
    radius: float
    down: Vector

    def beyond(self, points: Floats) -> Floats:
        """How far points (n, 3) lie outside the cone, mm; below 0 inside, by how far they would have to go."""
        rel = points - np.array(self.top)
        depth = rel @ np.array(self.down)
        aside = np.sqrt(np.maximum(0.0, (rel * rel).sum(axis=1) - depth * depth))
        cos, sin = math.cos(math.radians(HALF_CONE_DEG)), math.sin(math.radians(HALF_CONE_DEG))
        # Seen from the rim: across the cone's side, and along it downward.
        across = (aside - self.radius) * cos - depth * sin
        along = (aside - self.radius) * sin + depth * cos
        rim = np.hypot(aside - self.radius, depth)
        outside = np.where(along >= 0.0, across, np.where(aside <= self.radius, -depth, rim))
        inside = np.maximum(across, -depth)
        held: Floats = np.where((depth >= 0.0) & (across <= 0.0), inside, outside)
        return held


@dataclass(frozen=True, slots=True)
class Drip:
    """A joint above something hot: `beyond_mm` is below 0, `aside_mm` how far sideways clears it."""

    joint: Standing
    hot: Standing
    beyond_mm: float
    at: Vector

    @property
    def aside_mm(self) -> float:
        """How far the joint or the hot thing has to move sideways."""
        return -self.beyond_mm / math.cos(math.radians(HALF_CONE_DEG))

    @property
    def is_new(self) -> bool:
        """Whether the part brings it about: one of the two is carried."""
        return Role.CARRIED in (self.joint.role, self.hot.role)


def drips(scene: Scene) -> tuple[Drip, ...]:
    """Every joint with something hot in its cone, the hot thing cold or grown."""
    found = []
    for joint in scene.things:
        cone = joint_cone(joint, unit(scene.site.document.down))
        if cone is None:
            continue
        for hot in scene.things:
            if hot is joint or not is_hot(hot):
                continue
            beyond, at = min((least_beyond(cone, s) for _, solids in hot.states for s in solids), key=lambda r: r[0])
            if beyond < 0.0:
                found.append(Drip(joint, hot, beyond, at))
    return tuple(found)


def is_hot(thing: Standing) -> bool:
    """Whether what drips on it may burn: any exhaust, and anything with a surface of HOT_C or more."""
    surface = thing.kind.surface_c
    return thing.kind.matter == "exhaust" if surface is None else surface >= HOT_C


def joint_cone(thing: Standing, down: Vector) -> Cone | None:
    """The cone below the joint of a filter, can or tank with something flammable; None for other things.

    The joint is the end that the thing is drawn away from, else its upper end.
    """
    if thing.kind.matter not in FLAMMABLE or isinstance(thing.table, PipeTable | WallTable):
        return None
    toward = thing.removal if thing.removal is not None and any(thing.removal) else down
    solid = thing.solids[0]
    if isinstance(solid, Drum):
        end = min((solid.a, solid.b), key=lambda p: dot(p, toward))
        return Cone(end, solid.radius, down)
    assert isinstance(solid, Block)
    ways = [scaled(axis, half) for axis, half in zip(_axes(solid), solid.half, strict=True)]
    end = plus(
        solid.frame.origin, max((scaled(w, s) for w in ways for s in (1.0, -1.0)), key=lambda w: -dot(w, toward))
    )
    return Cone(end, math.hypot(*sorted(solid.half)[1:]), down)


def _axes(block: Block) -> tuple[Vector, Vector, Vector]:
    return block.frame.x, block.frame.y, block.frame.z


def least_beyond(cone: Cone, solid: Solid) -> tuple[float, Vector]:
    """How far the solid's nearest point lies outside the cone (below 0: inside), and the point.

    Looked for on a grid that closes in on the least; the distance to a cone has one valley only.
    """
    low, high = np.zeros(3), np.ones(3)
    best, at = math.inf, (0.0, 0.0, 0.0)
    for _ in range(_FINER):
        shares = np.stack(np.meshgrid(*np.linspace(low, high, _GRID).T, indexing="ij"), axis=-1).reshape(-1, 3)
        if isinstance(solid, Capsule):
            shares = shares[(shares[:, 1] == low[1]) & (shares[:, 2] == low[2])]
        points = _points(cone, solid, shares)
        beyond = cone.beyond(points)
        k = int(beyond.argmin())
        if beyond[k] < best:
            best, at = float(beyond[k]), vector(points[k])
        step = (high - low) / (_GRID - 1)
        low, high = np.maximum(0.0, shares[k] - 2 * step), np.minimum(1.0, shares[k] + 2 * step)
    return (best - solid.radius, at) if isinstance(solid, Capsule) else (best, at)


def _points(cone: Cone, solid: Solid, shares: Floats) -> Floats:
    """Places in the solid for three shares of 0 to 1 each; a capsule's places are on its axis."""
    u, v, w = shares[:, :1], shares[:, 1:2], shares[:, 2:]
    found: Floats
    match solid:
        case Capsule():
            found = np.array(solid.a) + u * np.array(minus(solid.b, solid.a))
        case Drum():
            x, y = _across(unit(minus(solid.b, solid.a)))
            turn, r = 2 * np.pi * v, solid.radius * w
            round_it = r * (np.cos(turn) * x + np.sin(turn) * y)
            found = np.array(solid.a) + u * np.array(minus(solid.b, solid.a)) + round_it
        case Block():
            x, y, z = (np.array(a) * h for a, h in zip(_axes(solid), solid.half, strict=True))
            found = np.array(solid.frame.origin) + (2 * u - 1) * x + (2 * v - 1) * y + (2 * w - 1) * z
        case Wall():
            x, y = _across(solid.normal)
            foot = plus(cone.top, solid.normal, -dot(minus(cone.top, solid.point), solid.normal))
            found = np.array(foot) + _PATCH_MM * ((2 * u - 1) * x + (2 * v - 1) * y)
        case _:
            raise TypeError(f"{type(solid).__name__} is no hot thing of a site")
    return found


def _across(axis: Vector) -> tuple[Floats, Floats]:
    n = np.array(axis)
    x = np.cross(n, np.eye(3)[int(np.abs(n).argmin())])
    x /= np.linalg.norm(x)
    return x, np.cross(n, x)


def drip_finding(drip: Drip) -> Finding:
    """Rule drip: failed when the part brings it about, a warning between two neighbours."""
    remedy = (
        f"what drips or sprays from '{drip.joint.title}' falls on '{drip.hot.title}' at {spot(drip.at)}: move it "
        f"{up_mm(drip.aside_mm)} aside, or shield it, and write down that it is to be wiped before the engine runs"
    )
    source = f"{cited('quebec-c24.2-r32-92', 'read')}; cone of {HALF_CONE_DEG:g} degrees: {NO_SOURCE}"
    level = Level.FAIL if drip.is_new else Level.WARN
    subject = f"{drip.joint.title} above {drip.hot.title}"
    return DRIP.finding(level, subject, drip.beyond_mm, 0.0, None, remedy, source)
