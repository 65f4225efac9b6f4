"""Solids in space, mm: what the part, its bolts, the carried thing and the neighbours are made of."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

from bracketgen.bending.fold import Folded, strip_frame
from bracketgen.geometry.contour import Contour, Cut
from bracketgen.geometry.space import Frame, Vector, cross, degrees_between, dot, length, minus, plus, scaled, unit
from bracketgen.part.part import Bend, Way
from bracketgen.vehicle.site import BoxTable, CylinderTable, PipeTable, Thing, WallTable


@dataclass(frozen=True, slots=True)
class Capsule:
    """Everything within `radius` of the stretch from `a` to `b`: a run of pipe or hose."""

    a: Vector
    b: Vector
    radius: float


@dataclass(frozen=True, slots=True)
class Drum:
    """A cylinder with flat ends in `a` and `b`."""

    a: Vector
    b: Vector
    radius: float


@dataclass(frozen=True, slots=True)
class Block:
    """A box: its middle and axes in `frame`, half of its edges in `half`."""

    frame: Frame
    half: Vector


@dataclass(frozen=True, slots=True)
class Wall:
    """Everything behind the plane through `point`; `normal` (unit) looks to the free side."""

    point: Vector
    normal: Vector


@dataclass(frozen=True, slots=True)
class Plate:
    """Flat metal: `outline` less `holes` in the frame's x-y plane, from z = `low` to z = `high`."""

    frame: Frame
    outline: Contour
    holes: tuple[Cut, ...]
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Bow:
    """The metal of a bend: a hollow cylinder's sector.

    In `frame`, x runs along the axis from 0 to `width`, the sector starts on the -z axis (where the parent's
    tangent line stands) and turns by `turn_deg` toward +y; radii from the axis.
    """

    frame: Frame
    width: float
    inner: float
    outer: float
    turn_deg: float


Solid = Capsule | Drum | Block | Wall | Plate | Bow


@dataclass(frozen=True, slots=True)
class Gap3:
    """Distance in mm and the two nearest points; a distance of 0 or less means the solids meet."""

    mm: float
    here: Vector
    there: Vector


def moved(solid: Solid, frame: Frame) -> Solid:
    """The solid, given in `frame`, as seen from outside of it."""
    match solid:
        case Capsule() | Drum():
            return replace(solid, a=frame.point(solid.a), b=frame.point(solid.b))
        case Wall():
            return Wall(frame.point(solid.point), frame.direction(solid.normal))
        case Block() | Plate() | Bow():
            return replace(solid, frame=solid.frame.within(frame))


def shifted(solid: Solid, by: Vector) -> Solid:
    """The solid moved without turning."""
    return moved(solid, Frame(by))


def ball_around(solid: Solid) -> tuple[Vector, float] | None:
    """Centre and radius of a ball that holds the solid; None for an endless wall."""
    match solid:
        case Capsule():
            return scaled(plus(solid.a, solid.b), 0.5), length(minus(solid.b, solid.a)) / 2 + solid.radius
        case Drum():
            return scaled(plus(solid.a, solid.b), 0.5), math.hypot(length(minus(solid.b, solid.a)) / 2, solid.radius)
        case Block():
            return solid.frame.origin, length(solid.half)
        case Plate():
            x0, y0, x1, y1 = solid.outline.bounds()
            middle = ((x0 + x1) / 2, (y0 + y1) / 2, (solid.low + solid.high) / 2)
            return solid.frame.point(middle), math.hypot(x1 - x0, y1 - y0, solid.high - solid.low) / 2
        case Bow():
            return solid.frame.point((solid.width / 2, 0.0, 0.0)), math.hypot(solid.width / 2, solid.outer)
        case Wall():
            return None


# Things of a site as solids: pipes with their rounded corners, drums, boxes, walls.


#: How far the straight pieces of a rounded corner may stand off its true line; the pipe is that much thicker there.
CHORD_MM: Final = 0.04
#: A turn below this has no corner to round.
_STRAIGHT_DEG: Final = 0.01


class ShapeFault(ValueError):
    """A thing that can't stand as it is written."""


def solids_of(thing: Thing, frame: Frame | None = None) -> tuple[Solid, ...]:
    """The thing's solids in the frame around `frame` (left out: the site's). Raises ShapeFault."""
    frame = frame or Frame()
    match thing:
        case PipeTable():
            return pipe_solids([frame.point(p) for p in thing.points], thing.diameter / 2, thing.bend_radius)
        case CylinderTable():
            if length(minus(thing.to, thing.at)) <= 0.0:
                raise ShapeFault("both ends of the cylinder are one point")
            return (Drum(frame.point(thing.at), frame.point(thing.to), thing.diameter / 2),)
        case BoxTable():
            a, b, c = thing.size
            return (Block(_box_frame(thing).within(frame), (a / 2, b / 2, c / 2)),)
        case WallTable():
            return (Wall(frame.point(thing.at), frame.direction(_direction(thing.normal))),)


def _direction(v: Vector) -> Vector:
    if length(v) <= 0.0:
        raise ShapeFault("a direction of zeros points nowhere")
    return unit(v)


def _box_frame(box: BoxTable) -> Frame:
    """x as written; z as near as can be to the written one, square to x."""
    x = _direction(box.x)
    across = plus(box.z, x, -dot(box.z, x))
    if length(across) < 1e-9:
        raise ShapeFault("x and z of the box run the same way")
    z = unit(across)
    return Frame(box.at, x, cross(z, x), z)


def pipe_solids(points: Sequence[Vector], radius: float, bend_radius: float) -> tuple[Capsule, ...]:
    """Runs of pipe along the points, mm.

    Corners are rounded on the centre line by short chords, a little thicker, so that they hold the true pipe.
    Raises ShapeFault where a corner has no room for its radius.
    """
    if any(length(minus(b, a)) <= 0.0 for a, b in pairwise(points)):
        raise ShapeFault("two points of the pipe in a row are the same")
    runs: list[Capsule] = []
    at, taken = points[0], 0.0
    for before, corner, after in zip(points, points[1:], points[2:], strict=False):
        chords, tangent = _rounded(before, corner, after, bend_radius)
        _check_room(before, corner, taken + tangent, bend_radius)
        runs += _run(at, chords[0], radius)
        runs += [Capsule(a, b, radius + CHORD_MM) for a, b in pairwise(chords)]
        at, taken = chords[-1], tangent
    _check_room(points[-1], points[-2], taken, bend_radius)
    return (*runs, *_run(at, points[-1], radius))


def _run(a: Vector, b: Vector, radius: float) -> list[Capsule]:
    return [Capsule(a, b, radius)] if length(minus(b, a)) > 1e-9 else []


def _check_room(far: Vector, corner: Vector, needed: float, bend_radius: float) -> None:
    if needed > length(minus(corner, far)) + 1e-9:
        at = f"({corner[0]:.0f}, {corner[1]:.0f}, {corner[2]:.0f})"
        raise ShapeFault(f"the pipe's corner at {at} has no room for a bend radius of {bend_radius:g} mm")


def _rounded(a: Vector, b: Vector, c: Vector, radius: float) -> tuple[list[Vector], float]:
    """Points along the arc at corner b, from tangent to tangent, and how far these stand from b."""
    turn = math.radians(degrees_between(minus(b, a), minus(c, b)))
    if radius <= 0.0 or math.degrees(turn) < _STRAIGHT_DEG:
        return [b], 0.0
    if math.degrees(turn) > 180.0 - _STRAIGHT_DEG:
        raise ShapeFault("the pipe turns straight back on itself")
    tangent = radius * math.tan(turn / 2)
    come, go = unit(minus(b, a)), unit(minus(c, b))
    inward = unit(plus(go, come, -dot(go, come)))
    centre = plus(plus(b, come, -tangent), inward, radius)
    # A chord over this angle stands off its arc by CHORD_MM in the middle.
    step = 2.0 * math.acos(max(0.0, 1.0 - CHORD_MM / radius))
    count = max(1, math.ceil(turn / step))
    angles = [turn * i / count for i in range(count + 1)]
    return [plus(plus(centre, come, radius * math.sin(t)), inward, -radius * math.cos(t)) for t in angles], tangent


def grown(solid: Solid, fixed: Vector, share: float) -> Solid:
    """A run of pipe grown evenly from the point that is held: `share` is expansion times the rise in temperature."""

    def out(p: Vector) -> Vector:
        return plus(fixed, minus(p, fixed), 1.0 + share)

    if isinstance(solid, Capsule | Drum):
        return replace(solid, a=out(solid.a), b=out(solid.b), radius=solid.radius * (1.0 + share))
    raise ShapeFault("only pipes and drums grow")


# The folded part's metal as solids in the site's frame.


def metal_solids(folded: Folded, frame: Frame) -> tuple[tuple[str, Plate | Bow], ...]:
    """Every panel's flat metal by the panel's id, then every bend's by the bend's, mm.

    `frame` is the first panel's frame in the site. A plate reaches to the tangent lines of its bends.
    """
    t = folded.part.stock.thickness_mm
    plates: list[tuple[str, Plate | Bow]] = []
    for panel in folded.part.panels:
        own = folded.frames[panel.id].within(frame)
        plates.append((panel.id, Plate(own, panel.outline, tuple(h.cut for h in panel.holes), -t, 0.0)))
    bows = [(b.id, bow_of(b, strip_frame(b, folded.frames[b.parent]).within(frame), t)) for b in folded.part.bends]
    return (*plates, *bows)


def bow_of(bend: Bend, strip: Frame, thickness_mm: float) -> Bow:
    """The bend's metal; `strip` stands on the parent's tangent line, x along the bend, y toward the child.

    The axis lies on the inside: above the described face when the bend is up, below the back when it is down.
    """
    r = bend.inside_radius_mm
    if bend.way is Way.UP:
        axis = Frame((0.0, 0.0, r))
    else:
        # The parent's tangent line then stands above the axis: x and z are turned round, y stays.
        axis = Frame((bend.width_mm, 0.0, -thickness_mm - r), (-1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, -1.0))
    return Bow(axis.within(strip), bend.width_mm, r, r + thickness_mm, bend.turn_deg)
