"""How far off each step of a build may be: the shop's practice, or the usual figures."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from math import sqrt

import numpy as np

from bracketgen.geometry.arrays import Floats
from bracketgen.part.hole import Hole
from bracketgen.part.part import Stock
from bracketgen.standards.deviations import Deviation, cut_tolerance, general_tolerance, usual_scatter_of
from bracketgen.standards.table import LookupFault

#: ISO 2768-1 begins here; the nearer of two holes is never nearer than that.
_LEAST_SIZE_MM = 0.5


class Distribution(StrEnum):
    """What a plus-or-minus says: nothing lies beyond it (evenly spread), or it is one standard deviation (normal)."""

    LIMIT = "limit"
    SIGMA = "sigma"


@dataclass(frozen=True, slots=True)
class Spread:
    """Plus or minus `value`, 0 or more, in the unit of the field that holds it."""

    value: float
    kind: Distribution = Distribution.LIMIT

    @property
    def sigma(self) -> float:
        """One standard deviation; limit / sqrt(3) where evenly spread."""
        return self.value if self.kind is Distribution.SIGMA else self.value / sqrt(3.0)

    def draw(self, random: np.random.Generator, shape: tuple[int, ...]) -> Floats:
        """Errors at random, of that shape."""
        if self.kind is Distribution.SIGMA:
            return random.normal(0.0, 1.0, shape) * self.value
        return random.uniform(-1.0, 1.0, shape) * self.value


@dataclass(frozen=True, slots=True)
class ShopScatter:
    """What a shop keeps to; degrees, mm, K as a ratio.

    `hole_place_mm` is for each hole along x and along y of the flat; `hole_size_mm` is for diameters. None: from
    the tolerance class of the part's process, with half the deviation of the widest hole distance to each hole.
    `pull_up_mm` is the gap under a bolt that tightening closes, `repeat_mm` one standard deviation of a careful
    second reading.
    """

    turn_deg: Spread
    k_factor: Spread
    bend_line_mm: Spread
    thickness_mm: Spread
    carried_mm: Spread
    pull_up_mm: float
    repeat_mm: float
    hole_place_mm: Spread | None = None
    hole_size_mm: Spread | None = None


def usual_scatter() -> ShopScatter:
    """The usual figures. Source: the table of bend scatter, row by row."""

    def limit(scatter_id: str) -> Spread:
        return Spread(usual_scatter_of(scatter_id).plus_minus)

    return ShopScatter(
        turn_deg=limit("turn"),
        k_factor=limit("k_factor"),
        bend_line_mm=limit("bend_line"),
        thickness_mm=limit("thickness"),
        carried_mm=limit("carried"),
        pull_up_mm=usual_scatter_of("pull_up").plus_minus,
        repeat_mm=usual_scatter_of("repeat").plus_minus,
    )


def hole_place_spread(stock: Stock, widest_mm: float) -> Spread:
    """Each hole's place along x and y, mm: half the deviation of the widest distance between two holes.

    Two holes that each keep to half keep their distance to the whole. Raises LookupFault beyond the tables.
    """
    return Spread(_deviation(stock, max(widest_mm, _LEAST_SIZE_MM)).plus_minus / 2.0)


def hole_size_spread(stock: Stock, hole: Hole) -> Spread:
    """The hole's diameter, mm; drilled holes (with a pilot) and openings are taken as true."""
    if hole.pilot is not None or hole.shape.width_mm is None:
        return Spread(0.0)
    return Spread(_deviation(stock, hole.shape.width_mm).plus_minus)


#: Which table a process names, as the processes table words it.
_TABLES: dict[str, Callable[[float, float, str], Deviation]] = {
    "ISO 9013": cut_tolerance,
    "ISO 2768-1": lambda size_mm, _thickness_mm, tolerance_class: general_tolerance(size_mm, tolerance_class),
}


def _deviation(stock: Stock, size_mm: float) -> Deviation:
    process = stock.process
    if process.tolerance_table not in _TABLES:
        raise LookupFault("tolerance table", process.tolerance_table, tuple(_TABLES))
    return _TABLES[process.tolerance_table](size_mm, stock.thickness_mm, process.tolerance_class)
