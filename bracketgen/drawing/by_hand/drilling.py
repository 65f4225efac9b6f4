"""Which drills make a hole, in order, and whether it is drilled before or after bending.

All drill steps are common practice, no source: 3 mm pilot, then steps that leave the next drill something to centre on.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from bracketgen.drawing.marks.plain_numbers import plain
from bracketgen.drawing.workshop.hole_names import NamedHole
from bracketgen.findings import Finding, Level
from bracketgen.geometry.contour import Circle
from bracketgen.geometry.placement import Placement
from bracketgen.geometry.point import Point
from bracketgen.part.hole import HoleShape, Purpose

_PILOT_MM: Final = 3.0
#: (holes over this size, get this drill in between), mm.
_BETWEEN_MM: Final = ((8.0, 6.0), (13.0, 10.0))
#: Twist drills in a hand drill or small bench drill end about here; beyond, a step drill or a hole saw.
LARGEST_DRILL_MM: Final = 13.0
#: What a reamer takes off, on the diameter.
_REAMED_MM: Final = 0.2
#: The rules that say a hole comes out oval when it is there before bending.
_NEAR_BEND: Final = frozenset({"hole-bend", "hole-in-bend"})


@dataclass(frozen=True, slots=True)
class Drilling:
    """How one hole is made: where to punch (from the datum edges, mm), the drills in order, what follows."""

    named: NamedHole
    punches: tuple[Point, ...]
    drills_mm: tuple[float, ...]
    then: str
    after_bending: bool

    @property
    def drill_words(self) -> str:
        """Such as '3, 6, 9'; the last is the size to drill, '' when the hole is not drilled."""
        return ", ".join(plain(d) for d in self.drills_mm)


def drillings(holes: Sequence[NamedHole], findings: Sequence[Finding]) -> list[Drilling]:
    """Every hole in the order of the names; those that a rule finds too near a bend come after bending.

    A waiver does not help here: the rule's figures say that the hole would be pulled oval.
    """
    late = {f.subject for f in findings if f.rule in _NEAR_BEND and f.level is Level.FAIL}
    return [_drilling(h, h.hole.hole.id in late) for h in holes]


def drill_steps(diameter_mm: float) -> tuple[float, ...]:
    """The drills up to a diameter, mm: pilot, one or two between, then the next tenth above the diameter."""
    last = math.ceil(round(diameter_mm * 10, 6)) / 10
    steps = [_PILOT_MM, *(step for over, step in _BETWEEN_MM if last > over)]
    return (*(s for s in steps if s < last - 0.5), last)


def _drilling(named: NamedHole, late: bool) -> Drilling:
    hole = named.hole.hole
    if hole.shape is HoleShape.SLOT and hole.diameter_mm is not None:
        steps = drill_steps(hole.diameter_mm)
        return Drilling(named, _slot_ends(named), steps, "drill both ends, saw and file between them", late)
    if not isinstance(hole.cut, Circle):
        return Drilling(
            named, (named.at,), (), "chain-drill with 3 mm just inside the line, saw and file to the line", late
        )
    bore = 2 * hole.cut.radius
    bolt = f" {hole.fastener}" if hole.fastener else ""
    match hole.purpose:
        case Purpose.DOWEL:
            return Drilling(named, (named.at,), drill_steps(bore - _REAMED_MM), f"ream Ø{plain(bore)}", late)
        case Purpose.TAPPED:
            return Drilling(named, (named.at,), drill_steps(bore), f"tap{bolt}", late)
        case Purpose.RIVET_NUT:
            return Drilling(named, (named.at,), drill_steps(bore), f"rivet nut{bolt}", late)
        case _:
            large = "last size by step drill or hole saw" if bore > LARGEST_DRILL_MM else "deburr"
            return Drilling(named, (named.at,), drill_steps(bore), large, late)


def _slot_ends(named: NamedHole) -> tuple[Point, ...]:
    """Centres of a slot's two round ends."""
    hole = named.hole.hole
    half = ((hole.length_mm or 0.0) - (hole.diameter_mm or 0.0)) / 2
    way = Placement.turned((hole.direction_deg or 0.0) + named.hole.placement.angle_deg).direction(Point(1.0, 0.0))
    return (named.at.plus(way, -half), named.at.plus(way, half))
