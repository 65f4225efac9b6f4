"""Solids in space, mm: what the part, its bolts, the carried thing and the neighbours are made of."""

from __future__ import annotations

from dataclasses import dataclass

from bracketgen.geometry.contour import Contour, Cut
from bracketgen.geometry.frame import Frame, Vector


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
