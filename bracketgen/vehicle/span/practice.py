"""What the shop has on its shelf, and the room that a hole asks for because of it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import Enum
from typing import Final

import numpy as np

from bracketgen.geometry.arrays import Floats
from bracketgen.standards.fasteners import Fit, clearance_hole, edge_rule, fastener
from bracketgen.standards.machines import Die, die, dies, process, usual_die
from bracketgen.standards.metals import Grain, metal, minimum_bend_radius

#: The edge rule that a description follows when it names none.
_EDGE_RULE: Final = "EN 1993-1-8"
#: EN 1993-1-8:2005, table 3.3: e3 of slotted holes.
_SLOT_EDGE_PER_HOLE: Final = 1.5
#: Metal beyond a limit, so that rounding to the written digits never falls short of it.
ROUNDING_MM: Final = 0.05
#: As the hole-bend rule asks: from the edge of a round hole, or of a slot along the bend (its longest case up to
#: 50.8 mm), to the tangent line, in thicknesses (metal stamping design guide, see that rule).
_ROUND_PER_T: Final = 1.5
_SLOT_PER_T: Final = 2.5


class EdgeDistance(Enum):
    """How much metal is left around holes: `EASY` keeps rules without a warning, `TIGHT` just without a failure."""

    EASY = "easy"
    TIGHT = "tight"


@dataclass(frozen=True, slots=True)
class Practice:
    """Sheet and tooling: metal and process as the tables name them, thickness in mm, V opening of the die in mm.

    `die_mm` None takes the usual die for the thickness.
    """

    metal: str = "S235"
    thickness_mm: float = 4.0
    process: str = "laser"
    die_mm: float | None = None

    @property
    def die(self) -> Die:
        """The die. Raises LookupFault for an opening or a thickness that the chart doesn't hold."""
        return usual_die(self.thickness_mm) if self.die_mm is None else die(self.die_mm)

    @property
    def inside_radius_mm(self) -> float:
        """The natural radius in that die."""
        return self.die.natural_radius_mm

    def with_larger_die(self) -> Practice | None:
        """The same with the next V opening; None after the last."""
        larger = [d.opening_mm for d in dies() if d.opening_mm > self.die.opening_mm]
        return replace(self, die_mm=larger[0]) if larger else None

    def check(self) -> None:
        """Raises LookupFault for what the tables don't hold."""
        metal(self.metal)
        process(self.process)
        _ = self.die
        minimum_bend_radius(self.metal, self.thickness_mm, Grain.ACROSS)

    def most_turn_deg(self) -> float:
        """The most that this die may turn across the rolling direction, up to 135; 0 when it may not bend at all."""
        for turn in (135.0, 120.0, 90.0):
            limit = minimum_bend_radius(self.metal, self.thickness_mm, Grain.ACROSS, turn)
            if self.inside_radius_mm >= limit.radius_mm:
                return turn
        return 0.0

    def least_flats_mm(self, turn_deg: Floats) -> Floats:
        """From a tangent line to the leg's end, for each turn: what the die needs, mm."""
        outside = (self.inside_radius_mm + self.thickness_mm) * np.tan(np.radians(np.minimum(turn_deg, 90.0)) / 2)
        return np.asarray(np.maximum(self.die.minimum_flange_mm - outside, 0.0) + ROUNDING_MM)


@dataclass(frozen=True, slots=True)
class HoleRoom:
    """What a bolt hole asks of the metal around it, mm, from its centre.

    `pad` is the radius of metal, `from_bend` the distance to a tangent line (turned up to square).
    """

    pad: float
    from_bend: float


def hole_room(bolt: str, fit: Fit, practice: Practice, room: EdgeDistance, slot_length_mm: float = 0.0) -> HoleRoom:
    """The room of a round hole, or of a slot of that overall length lying in any direction. Raises LookupFault."""
    size, d = fastener(bolt), clearance_hole(bolt, fit).diameter_mm
    head = max(size.head_across_corners_mm, size.nut_across_flats_mm / math.cos(math.pi / 6)) / 2
    washer = max(head, (size.washer_od_mm or 0.0) / 2)
    slotted = slot_length_mm > d
    half = max(0.0, slot_length_mm - d) / 2
    least = max(edge_rule(_EDGE_RULE).edge_mm(d, size.diameter_mm), _SLOT_EDGE_PER_HOLE * d if slotted else 0.0)
    oval = d / 2 + (_SLOT_PER_T if slotted else _ROUND_PER_T) * practice.thickness_mm
    if room is EdgeDistance.EASY:
        pad = max(2.0 * d, washer + 1.0, least)
        return HoleRoom(pad, half + max(pad, oval, d / 2 + practice.die.opening_mm / 2) + ROUNDING_MM)
    pad = max(least, washer) + ROUNDING_MM
    return HoleRoom(pad, half + max(pad, oval) + ROUNDING_MM)
