"""What a place of the carried thing has to spare: gaps, ways out, room for the hand and for tools."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Reason(StrEnum):
    """For what room is asked."""

    GAP = "gap"
    HEAT = "heat"
    REMOVAL = "removal"
    HAND = "room for the hand"
    TOOL = "tool access"
    FURTHER = "further"


@dataclass(frozen=True, slots=True)
class Margin:
    """What two things have, and what they need, mm; on whose word."""

    a: str
    b: str
    reason: Reason
    gap_mm: float
    needed_mm: float
    source: str

    @property
    def mm(self) -> float:
        """What is to spare; below 0 it is missing."""
        return self.gap_mm - self.needed_mm

    def __str__(self) -> str:
        said = f"{self.a} to {self.b}, {self.reason}: {self.gap_mm:.1f} mm, needs {self.needed_mm:g} mm"
        return f"{said}, {abs(self.mm):.1f} mm {'to spare' if self.mm >= 0.0 else 'missing'}"
