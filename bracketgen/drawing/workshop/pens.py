"""The lines of a technical drawing.

Source: ISO 128-2, from memory: wide line 0.5 mm, narrow 0.25 mm; a dash is 12 d, a long dash 24 d, a gap 3 d, with d
the width of the line. A dot is drawn as a short dash, so that every printer shows it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from bracketgen.drawing.paper.palette import INK, Colour
from bracketgen.drawing.sheet import Stroke
from bracketgen.geometry.point import Point

_NARROW_MM: Final = 0.25
_LONG: Final = 24 * _NARROW_MM
_DASH: Final = 12 * _NARROW_MM
_GAP: Final = 3 * _NARROW_MM
_DOT: Final = 2 * _NARROW_MM


@dataclass(frozen=True, slots=True)
class Pen:
    """Width of a line and its dashes, mm; `words` is what it stands for."""

    width_mm: float
    dash_mm: tuple[float, ...]
    words: str

    def line(self, points: Sequence[Point], shows: str = "", colour: Colour = INK) -> Stroke:
        """A line drawn with this pen."""
        return Stroke(tuple(points), self.width_mm, colour, self.dash_mm, shows)


VISIBLE: Final = Pen(0.5, (), "edge in sight")
HIDDEN: Final = Pen(_NARROW_MM, (_DASH, _GAP), "edge out of sight")
CENTRE: Final = Pen(_NARROW_MM, (_LONG, _GAP, _DOT, _GAP), "centre line")
BENDING: Final = Pen(_NARROW_MM, (_LONG, _GAP, _DASH / 2, _GAP, _DASH / 2, _GAP), "centre line of a bend")
NARROW: Final = Pen(_NARROW_MM, (), "sizes, datum edges, tangent lines")
