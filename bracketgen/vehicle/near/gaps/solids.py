"""Solids in space, mm: what the part, its bolts, the carried thing and the neighbours are made of."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from bracketgen.geometry.contour import Contour, Cut
from bracketgen.geometry.space import Frame, Vector, length, minus, plus, scaled


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
