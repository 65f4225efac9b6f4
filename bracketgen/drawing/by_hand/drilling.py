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
from bracketgen.geometry.plane import Point
from bracketgen.part.hole import Purpose

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
    bolt = f" {hole.fastener}" if hole.fastener else ""
    width = hole.shape.width_mm
    punches = tuple(at.minus(named.hole.stated_at).plus(named.at) for at in named.hole.ends) or (named.at,)
    if width is None:
        return Drilling(named, punches, (), hole.shape.by_hand, late)
    match hole.purpose:
        case _ if hole.shape.by_hand:
            steps, then = drill_steps(width), hole.shape.by_hand
        case Purpose.DOWEL:
            steps, then = drill_steps(width - _REAMED_MM), f"ream Ø{plain(width)}"
        case Purpose.TAPPED:
            steps, then = drill_steps(width), f"tap{bolt}"
        case Purpose.RIVET_NUT:
            steps, then = drill_steps(width), f"rivet nut{bolt}"
        case _:
            large = width > LARGEST_DRILL_MM
            steps, then = drill_steps(width), "last size by step drill or hole saw" if large else "deburr"
    return Drilling(named, punches, steps, then, late)
