"""The hexagons of a bolt that a tool has to grip."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from bracketgen.geometry.space import Frame, Vector, cross, dot, length, minus, plus, scaled, unit
from bracketgen.standards.fasteners import Fastener, fastener
from bracketgen.vehicle.near.gaps.solids import Drum
from bracketgen.vehicle.seating.hardware import BoltSolids

#: Names of the hardware's solids that a tool grips.
_HEXAGONS: Final = ("head", "nut", "head behind")
_NO_DIRECTION: Final = 1e-6


@dataclass(frozen=True, slots=True)
class End:
    """One hexagon, mm: `what` is 'head', 'nut' or 'head behind'.

    `frame` stands on the face that the hexagon lies on (its washer's), z along the bolt out toward the tool; angles
    count from its x, anticlockwise as the one with the tool sees it. `tip_mm` of thread look out of a nut.
    """

    hole: str
    what: str
    frame: Frame
    across_flats_mm: float
    height_mm: float
    tip_mm: float

    @property
    def title(self) -> str:
        """How findings call it."""
        return f"{self.what} of {self.hole}"


def ends_of(bolt: BoltSolids, x: Vector) -> tuple[End, ...]:
    """The hexagons of a bolt: one where a thread or rivet nut holds the other end, else two.

    `x` is the direction from which angles count, as near as it can lie square to the bolt.
    """
    size, axis = fastener(bolt.bolt.size), bolt.bolt.axis
    over = [_end(bolt.bolt.part_hole, n, d, axis, x, size, 0.0) for n, d in bolt.over if n in _HEXAGONS]
    tip = next((length(minus(d.b, d.a)) for n, d in bolt.behind if n == "tip"), 0.0)
    back = scaled(axis, -1.0)
    behind = [_end(bolt.bolt.part_hole, n, d, back, x, size, tip) for n, d in bolt.behind if n in _HEXAGONS]
    return (*over, *behind)


def _end(hole: str, what: str, drum: Drum, out: Vector, x: Vector, size: Fastener, tip: float) -> End:
    low = min((drum.a, drum.b), key=lambda p: dot(p, out))
    flats = size.nut_across_flats_mm if what == "nut" else size.head_across_flats_mm
    return End(hole, what, end_frame(low, out, x), flats, length(minus(drum.b, drum.a)), tip)


def end_frame(at: Vector, out: Vector, x: Vector) -> Frame:
    """A frame at `at` with z along `out` (unit) and x as near to `x` as can be."""
    across = plus(x, out, -dot(x, out))
    if length(across) < _NO_DIRECTION:
        across = cross(out, (0.0, 1.0, 0.0) if abs(out[1]) < 0.9 else (1.0, 0.0, 0.0))
    first = unit(across)
    return Frame(at, first, cross(out, first), out)
