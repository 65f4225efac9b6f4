"""What the bars of a printed sheet say about the printer."""

from __future__ import annotations

from typing import Final

from bracketgen.drawing.one_to_one.bars import BAR_MM
from bracketgen.drawing.one_to_one.tiles import Scale
from bracketgen.standards.deviations import reading_error

#: Beyond these the bar was misread, or the wrong paper was chosen: fitting Letter into A4 or A4 into Letter, with
#: their margins, prints 0.9 to 1.1 (common practice, no source).
LEAST_SCALE: Final = 0.85
MOST_SCALE: Final = 1.15


def good_within() -> float:
    """How far a bar may be off and still pass for true, as a share: what a ruler's reading of it may be off.

    One standard deviation of a reading of 100 mm with a ruler. Source: the reading_errors table.
    """
    return reading_error("ruler", BAR_MM).sigma / BAR_MM


def is_true(scale: Scale) -> bool:
    """Whether both directions came out as true as a ruler can tell."""
    return all(abs(s - 1.0) <= good_within() for s in scale)


def is_possible(scale: float) -> bool:
    """Whether a printer may have done that."""
    return LEAST_SCALE <= scale <= MOST_SCALE
