"""A rubber isolator between the part and what it is bolted to."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class IsolatorKind(StrEnum):
    """How the rubber sits; the value stands on lists."""

    BUSH = "rubber bush"
    BOBBIN = "rubber bobbin"
    PAD = "rubber pad"


@dataclass(frozen=True, slots=True)
class Isolator:
    """An isolator at a hole, as the person states it; lengths in mm, None where the kind has none.

    `height_mm` is over all for a bush, between the plates of a bobbin, the thickness of a pad. `hole_mm` is the hole
    that it needs in the part. `sleeve_mm` is the length of the steel sleeve that the bolt is pulled tight on.
    `stud_mm` is the bobbin's own stud through the part, `depth_mm` the depth of its thread where it has none.
    `torque_nm` is its maker's figure.
    """

    kind: IsolatorKind
    height_mm: float
    hole_mm: float | None = None
    sleeve_mm: float | None = None
    stud_mm: float | None = None
    depth_mm: float | None = None
    torque_nm: float | None = None

    @property
    def is_squeezed(self) -> bool:
        """Whether rubber lies in the bolt's grip: no sleeve takes the pull past it."""
        return self.kind is not IsolatorKind.BOBBIN and self.sleeve_mm is None

    def stand_mm(self, thickness_mm: float) -> float:
        """How far it holds a part of that thickness off its mate, free: half of what a bush is longer than the part."""
        if self.kind is IsolatorKind.BUSH:
            return max(0.0, (self.height_mm - thickness_mm) / 2)
        return self.height_mm

    def grip_mm(self, thickness_mm: float) -> float:
        """What the part and the isolator together take of the bolt's grip, for a part of that thickness."""
        if self.sleeve_mm is not None:
            return self.sleeve_mm
        match self.kind:
            case IsolatorKind.BUSH:
                return self.height_mm
            case IsolatorKind.PAD:
                return thickness_mm + self.height_mm
            case IsolatorKind.BOBBIN:
                return thickness_mm
