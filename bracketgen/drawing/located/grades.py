"""How well a reading agrees with the others, as colour, dash and width, so that each shows without the others."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from bracketgen.drawing.paper.palette import Colour
from bracketgen.vehicle.locate.located import Located

#: A residual beyond this many of its own standard deviations deserves a look (5 % of good readings do).
_LOOK = 1.96


@dataclass(frozen=True, slots=True)
class Pen:
    """How the readings of a grade are drawn, and what the legend says."""

    colour: Colour
    width_mm: float
    dash_mm: tuple[float, ...]
    words: str


class Grade(Enum):
    """Teal, amber and dark magenta differ in lightness too; grey is for what nothing checks."""

    AGREES = Pen((0, 104, 110), 0.35, (), "agrees")
    LOOK = Pen((196, 124, 0), 0.6, (4.0, 1.2), "off by more than 2 of its own")
    WRONG = Pen((134, 0, 84), 1.1, (1.6, 1.0), "looks wrong")
    UNCHECKED = Pen((120, 120, 116), 0.35, (0.6, 1.1), "nothing checks it")


def grade_of(located: Located, reading: int) -> Grade:
    """The grade of one reading."""
    if reading == located.suspect or reading in located.suspect_alike:
        return Grade.WRONG
    w = located.residuals[reading].w
    if w is None:
        return Grade.UNCHECKED
    return Grade.LOOK if abs(w) > _LOOK else Grade.AGREES
