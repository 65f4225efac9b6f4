"""A fillet weld along an edge of a panel."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from bracketgen.geometry.arc import Arc
from bracketgen.geometry.contour import Edge
from bracketgen.geometry.point import Point


class WeldSide(StrEnum):
    """Which faces of the panel are welded along the edge; the value stands on lists."""

    FACE = "on the described face"
    BACK = "on the back"
    BOTH = "on both faces"


@dataclass(frozen=True, slots=True)
class Run:
    """Weld without a break: edges end to end, from the outline itself, mm.

    `length_mm` of it is welded, in its middle where that is less than all of it.
    """

    edges: tuple[Edge, ...]
    length_mm: float

    @property
    def is_closed(self) -> bool:
        """Whether it comes back to where it began: then it has no ends."""
        return self.edges[0].start == self.edges[-1].end

    @property
    def middle(self) -> Point:
        """The point half way along."""
        return self.at(0.5)

    def at(self, share: float) -> Point:
        """The point a `share` (0 to 1) of the way along what is welded."""
        whole = math.fsum(e.length for e in self.edges)
        left = (whole - self.length_mm) / 2 + share * self.length_mm
        for edge in self.edges:
            if left <= edge.length:
                return _along(edge, left)
            left -= edge.length
        return self.edges[-1].end


@dataclass(frozen=True, slots=True)
class Weld:
    """A fillet weld of one panel. `where` says along what, `to` what it is welded to ('' = not said).

    `throat_mm` is the height of the largest triangle in the weld's section, square to its face.
    """

    id: str
    where: str
    to: str
    throat_mm: float
    sides: WeldSide
    runs: tuple[Run, ...]

    @property
    def leg_mm(self) -> float:
        """Length of each leg of an equal-legged fillet: throat times the root of 2."""
        return self.throat_mm * math.sqrt(2.0)

    @property
    def side_mm(self) -> float:
        """Length on one face."""
        return math.fsum(run.length_mm for run in self.runs)

    @property
    def total_mm(self) -> float:
        """Length on all faces that are welded."""
        return self.side_mm * (2 if self.sides is WeldSide.BOTH else 1)


def _along(edge: Edge, mm: float) -> Point:
    """The point of an edge that far from its start."""
    share = mm / edge.length
    return edge.at(share) if isinstance(edge, Arc) else edge.start.plus(edge.end.minus(edge.start), share)
