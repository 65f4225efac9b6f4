"""What cutting may take and cost, by the shop's own rates."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

_S_PER_H: Final = 3600.0
_S_PER_MIN: Final = 60.0


@dataclass(frozen=True, slots=True)
class Rates:
    """The shop's figures: mm a minute along the cut, seconds a pierce, money an hour, a kilogram, and once."""

    cut_mm_per_min: float
    pierce_s: float = 0.0
    machine_per_hour: float = 0.0
    metal_per_kg: float = 0.0
    setup: float = 0.0


@dataclass(frozen=True, slots=True)
class Estimate:
    """Seconds of cutting, and money for machine, metal and setup."""

    cutting_s: float
    machine: float
    metal: float
    setup: float

    @property
    def total(self) -> float:
        """All of the money."""
        return self.machine + self.metal + self.setup


def estimate(cut_mm: float, pierces: int, metal_kg: float, rates: Rates) -> Estimate:
    """Time = length / speed + pierces; no rapid moves, loading, corners or bending are in it.

    `metal_kg` is what is paid for: the whole of every sheet begun. ValueError for a speed of 0.
    """
    if not rates.cut_mm_per_min > 0.0:
        raise ValueError("a cutting speed of 0")
    seconds = cut_mm / rates.cut_mm_per_min * _S_PER_MIN + pierces * rates.pierce_s
    machine = seconds / _S_PER_H * rates.machine_per_hour
    return Estimate(seconds, machine, metal_kg * rates.metal_per_kg, rates.setup)
