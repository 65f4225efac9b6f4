"""Punches, dies and noses, and the brakes that they stand in, as outlines across the bend.

Outlines are closed chains of points in mm. A punch has its tip at the origin and rises from there; a die has the
middle of its V on the top face at the origin; x runs to the back gauge. The ram stands on the punch (y = 0 at the
punch's height), the bed carries the die (y = 0 at its foot). On a leaf brake the nose's lower front edge, the bed's
upper front edge and the leaf's upper edge next to the bed are origins; x runs into the machine for nose and bed, and
out along the leaf for the leaf.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from bracketgen.geometry.plane import Point
from bracketgen.standards.machines import Die, dies

Ring = tuple[Point, ...]

#: Free way between moving metal and tools. Common practice, no source.
USUAL_CLEARANCE_MM: Final = 1.0


@dataclass(frozen=True, slots=True)
class BrakeTool:
    """One tool: `lengths_mm` are its pieces, which can be put together; `most_kn_per_m` what it may carry."""

    name: str
    outline: Ring
    lengths_mm: tuple[float, ...]
    most_kn_per_m: float | None = None


@dataclass(frozen=True, slots=True)
class Punch(BrakeTool):
    """`height_mm` from tip to the ram, `radius_mm` of the tip."""

    height_mm: float = 100.0
    radius_mm: float = 1.0


@dataclass(frozen=True, slots=True)
class BrakeDie(BrakeTool):
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
    dies: tuple[BrakeDie, ...]
    ram: Ring
    bed: Ring
    open_height_mm: float
    length_mm: float
    capacity_kn: float
    gauge: Gauge = Gauge()
    clearance_mm: float = USUAL_CLEARANCE_MM


@dataclass(frozen=True, slots=True)
class Nose(BrakeTool):
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


# -- a brake of the usual kind, for a shop that has not written down its own tools
# Outlines and limits are common practice, no source: a light press brake with a straight punch and a gooseneck, and a
# hand folding brake. V openings, shortest legs and natural radii are those of the air bending chart.

#: Lengths of a sectioned set, mm; a whole set makes 835 mm. Common practice, no source.
SECTIONS_MM: Final = (10.0, 15.0, 20.0, 40.0, 50.0, 100.0, 100.0, 200.0, 300.0)
_WIDEST_MM: Final = 63.0
_DIE_HEIGHT_MM: Final = 60.0
_SHOULDER_MM: Final = 5.0
#: Angle of the V: tighter than square, so that a square bend can be bent over.
_V_DEG: Final = 84.0


def usual_press() -> PressBrake:
    """A press brake of 600 kN with two punches and the dies of the chart to V 63."""
    return PressBrake(
        title="usual press brake (not your own tools: give --tooling)",
        punches=(_straight(), _gooseneck()),
        dies=tuple(_die(d) for d in dies() if 6 <= d.opening_mm <= _WIDEST_MM),
        ram=_ring((-30, 0), (30, 0), (30, 100), (50, 100), (50, 500), (-50, 500), (-50, 100), (-30, 100)),
        bed=_ring((-45, -600), (45, -600), (45, 0), (-45, 0)),
        open_height_mm=200.0,
        length_mm=2000.0,
        capacity_kn=600.0,
    )


def usual_leaf() -> LeafBrake:
    """A hand folding brake for 2.5 mm mild steel with a sharp and a round nose."""
    nose = _ring((0, 0), (140, 0), (140, 110), (75, 110), (45, 54))
    return LeafBrake(
        title="usual leaf brake (not your own tools: give --tooling)",
        noses=tuple(Nose(f"R{r:g}", nose, SECTIONS_MM, None, r) for r in (1.0, 2.0, 3.0)),
        bed=_ring((0, 0), (0, -20), (60, -110), (60, -400), (220, -400), (220, 0)),
        leaf=_ring((0, 0), (0, -45), (20, -90), (45, -90), (45, 0)),
        lift_mm=50.0,
        length_mm=1250.0,
        most_thickness_mm=2.5,
    )


def v_outline(opening_mm: float, height_mm: float, v_deg: float, width_mm: float) -> Ring:
    """A plain block with one V on top, its foot `height_mm` below."""
    half, wide = opening_mm / 2, width_mm / 2
    depth = half / math.tan(math.radians(v_deg) / 2)
    foot, top = -height_mm, 0.0
    return _ring((-wide, foot), (wide, foot), (wide, top), (half, top), (0, -depth), (-half, top), (-wide, top))


def _die(chart: Die) -> BrakeDie:
    v = chart.opening_mm
    outline = v_outline(v, _DIE_HEIGHT_MM, _V_DEG, v + 2 * _SHOULDER_MM)
    return BrakeDie(f"V{v:g}", outline, SECTIONS_MM, None, v, _DIE_HEIGHT_MM, chart.minimum_flange_mm)


def _straight() -> Punch:
    outline = _ring(
        *((0, 0), (0.7, 0.3), (6.5, 6.9), (6.5, 65), (13, 72), (13, 100)),
        *((-13, 100), (-13, 72), (-6.5, 65), (-6.5, 6.9), (-0.7, 0.3)),
    )
    return Punch("straight", outline, SECTIONS_MM, 1000.0, 100.0, 1.0)


def _gooseneck() -> Punch:
    outline = _ring(
        *((0, 0), (0.7, 0.3), (3, 3.4), (3, 10), (-20, 38), (-22, 62), (13, 98), (13, 120)),
        *((-13, 120), (-13, 100), (-40, 72), (-38, 44), (-3, 3.6), (-0.7, 0.3)),
    )
    return Punch("gooseneck", outline, SECTIONS_MM, 500.0, 120.0, 1.0)


def _ring(*points: tuple[float, float]) -> Ring:
    return tuple(Point(float(x), float(y)) for x, y in points)
