"""A hole, slot or opening in a panel."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from bracketgen.geometry.contour import Circle, Cut
from bracketgen.geometry.point import Point
from bracketgen.part.hole_shape import HoleShape
from bracketgen.part.isolator import Isolator


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

    `shape` is the finished form and place. `pilot` is set where the process can't cut the finished hole well (tapped
    and dowel holes by a thermal process): then the cut file holds the pilot, and the hole is drilled to size.
    `fastener` is the bolt size it is for, such as 'M8'. `isolator` is the rubber at it.
    """

    id: str
    shape: HoleShape
    purpose: Purpose
    fastener: str | None = None
    pilot: Circle | None = None
    isolator: Isolator | None = None
    nut: Nut = Nut.LOOSE

    @property
    def centre(self) -> Point:
        """Its middle."""
        return self.shape.centre

    @property
    def cut(self) -> Cut:
        """The finished edge."""
        return self.shape.cut

    @property
    def in_file(self) -> Cut:
        """What the cut file holds."""
        return self.pilot or self.shape.cut

    @property
    def bore_in_file_mm(self) -> float | None:
        """The diameter that the cut file holds; None where it holds no round."""
        return self.shape.bore_mm if self.pilot is None else 2 * self.pilot.radius
