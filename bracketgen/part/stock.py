"""The sheet that a part is cut from."""

from __future__ import annotations

from dataclasses import dataclass

from bracketgen.standards.machines import Process
from bracketgen.standards.metals import Metal


@dataclass(frozen=True, slots=True)
class Stock:
    """Metal with its temper, thickness, how it is cut, which way it was rolled, what is put on it.

    `grain_deg` is the rolling direction in the first panel's frame (anticlockwise from +x); None = unknown.
    `coating_mm` is the film on one face; `sheet_mm` is the largest sheet or plate to be had.
    """

    metal: Metal
    thickness_mm: float
    thickness_typed: str
    process: Process
    grain_deg: float | None
    coating: str
    coating_mm: float
    sheet_mm: tuple[float, float]
