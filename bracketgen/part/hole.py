"""A hole, slot or opening in a panel."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from bracketgen.geometry.contour import Circle, Contour, Cut
from bracketgen.geometry.point import Point
from bracketgen.part.isolator import Isolator


class HoleShape(StrEnum):
    """Round, slot (straight with round ends), or any other closed outline."""

    ROUND = "round"
    SLOT = "slot"
    OUTLINE = "outline"


class Purpose(StrEnum):
    """What the hole is for; it decides the rules that apply."""

    CLEARANCE = "clearance"
    TAPPED = "tapped"
    RIVET_NUT = "rivet nut"
    DOWEL = "dowel"
    PLAIN = "plain"
    OPENING = "opening"


class Nut(StrEnum):
    """What holds the thread at a clearance hole: a loose nut behind the mate, or one welded to the part."""

    LOOSE = "loose"
    WELDED = "welded"


@dataclass(frozen=True, slots=True)
class Hole:
    """One hole in its panel's frame, mm.

    `cut` is the finished shape. `pilot` is set where the process can't cut the finished hole well (tapped and
    dowel holes by a thermal process): then the cut file holds the pilot, and the hole is drilled to size.
    `diameter_mm` is the diameter, or the width of a slot; `length_mm` is a slot's overall length, its
    `direction_deg` anticlockwise from +x. `fastener` is the bolt size it is for, such as 'M8'. `isolator` is the rubber
    at it.
    """

    id: str
    shape: HoleShape
    purpose: Purpose
    centre: Point
    cut: Cut
    diameter_mm: float | None = None
    length_mm: float | None = None
    direction_deg: float | None = None
    fastener: str | None = None
    pilot: Circle | None = None
    isolator: Isolator | None = None
    nut: Nut = Nut.LOOSE

    @property
    def in_file(self) -> Cut:
        """What the cut file holds."""
        return self.pilot or self.cut

    def chain(self) -> Contour:
        """The finished edge as a closed chain, anticlockwise."""
        return self.cut.contour() if isinstance(self.cut, Circle) else self.cut.anticlockwise()
