"""Punches, dies and noses, and the brakes that they stand in, as outlines across the bend.

Outlines are closed chains of points in mm. A punch has its tip at the origin and rises from there; a die has the
middle of its V on the top face at the origin; x runs to the back gauge. The ram stands on the punch (y = 0 at the
punch's height), the bed carries the die (y = 0 at its foot). On a leaf brake the nose's lower front edge, the bed's
upper front edge and the leaf's upper edge next to the bed are origins; x runs into the machine for nose and bed, and
out along the leaf for the leaf.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from bracketgen.geometry.point import Point

Ring = tuple[Point, ...]

#: Free way between moving metal and tools. Common practice, no source.
USUAL_CLEARANCE_MM: Final = 1.0


@dataclass(frozen=True, slots=True)
class Tool:
    """One tool: `lengths_mm` are its pieces, which can be put together; `most_kn_per_m` what it may carry."""

    name: str
    outline: Ring
    lengths_mm: tuple[float, ...]
    most_kn_per_m: float | None = None


@dataclass(frozen=True, slots=True)
class Punch(Tool):
    """`height_mm` from tip to the ram, `radius_mm` of the tip."""

    height_mm: float = 100.0
    radius_mm: float = 1.0


@dataclass(frozen=True, slots=True)
class Die(Tool):
    """`opening_mm` of the V between its shoulders, `height_mm` from foot to top, shortest outside leg it holds."""

    opening_mm: float = 16.0
    height_mm: float = 60.0
    minimum_leg_mm: float = 11.0


@dataclass(frozen=True, slots=True)
class Gauge:
    """The back gauge: reach from the bend line, and how far its fingers reach below and above the die's top, mm."""

    least_mm: float = 10.0
    most_mm: float = 600.0
    below_mm: float = 10.0
    above_mm: float = 15.0


@dataclass(frozen=True, slots=True)
class PressBrake:
    """A press brake with its tools. `open_height_mm` is the way from die to punch tip when open."""

    title: str
    punches: tuple[Punch, ...]
    dies: tuple[Die, ...]
    ram: Ring
    bed: Ring
    open_height_mm: float
    length_mm: float
    capacity_kn: float
    gauge: Gauge = Gauge()
    clearance_mm: float = USUAL_CLEARANCE_MM


@dataclass(frozen=True, slots=True)
class Nose(Tool):
    """A clamp's nose with the radius that the metal is folded round."""

    radius_mm: float = 1.0


@dataclass(frozen=True, slots=True)
class LeafBrake:
    """A leaf (folding) brake: noses on its clamp, bed and leaf, how far the clamp lifts.

    `most_thickness_mm` is what it folds over its whole length in mild steel of 450 MPa.
    """

    title: str
    noses: tuple[Nose, ...]
    bed: Ring
    leaf: Ring
    lift_mm: float
    length_mm: float
    most_thickness_mm: float
    clearance_mm: float = USUAL_CLEARANCE_MM


Brake = PressBrake | LeafBrake
