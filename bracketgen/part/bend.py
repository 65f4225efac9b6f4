"""Where two panels meet."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from bracketgen.geometry.line import Line


class Way(StrEnum):
    """Up turns the child toward the described face, down away from it."""

    UP = "up"
    DOWN = "down"


@dataclass(frozen=True, slots=True)
class Bend:
    """A straight bend between a parent panel and its child, the child being farther from the first panel.

    `parent_line` lies on the parent's tangent line in the parent's frame, `child_line` on the child's tangent
    line in the child's frame; both have the bend's width, run the same way, and have the child on their left.
    `turn_deg` is counted from flat (0 to 135]. `minimum_leg_mm` is what the tooling can hold, measured over
    the outside of the bend, `die_mm` the V opening of its die; None when no tooling is declared.
    """

    id: str
    parent: str
    child: str
    parent_line: Line
    child_line: Line
    turn_deg: float
    way: Way
    inside_radius_mm: float
    minimum_leg_mm: float | None = None
    die_mm: float | None = None

    @property
    def width_mm(self) -> float:
        """Length of the bend line."""
        return self.parent_line.length
