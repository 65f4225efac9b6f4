"""A sheet of plain drawing calls, as values; knows no file format.

Millimetres on the paper, x right, y up, origin in the lower left corner. Marks are drawn in order, labels last.
Curves are chains of points, fine enough for a picture.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from bracketgen.drawing.paper.lettering import ASCENT, DESCENT, Weight, text_width_mm
from bracketgen.drawing.paper.palette import INK, PAPER, Colour
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point


class Align(Enum):
    """Which point of a label's base line `at` is; the value is its share of the width."""

    LEFT = 0.0
    CENTRE = 0.5
    RIGHT = 1.0


class Reading(Enum):
    """Which way a label runs: `LEVEL` from left to right, `UPRIGHT` from below to above."""

    LEVEL = 0
    UPRIGHT = 90


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line through `points`; `dash_mm` is dash, gap, dash, gap ... (empty = solid).

    `shows` names the thing of the model that the mark stands for, such as a hole's id.
    """

    points: tuple[Point, ...]
    width_mm: float
    colour: Colour = INK
    dash_mm: tuple[float, ...] = ()
    shows: str = ""

    @property
    def closed(self) -> bool:
        """Whether it ends where it begins, so that its ends join like a corner."""
        return len(self.points) > 2 and self.points[0] == self.points[-1]


@dataclass(frozen=True, slots=True)
class Fill:
    """A filled shape: the first ring is its edge, the others are left open."""

    rings: tuple[tuple[Point, ...], ...]
    colour: Colour
    shows: str = ""


@dataclass(frozen=True, slots=True)
class Label:
    """One line of text; `size_mm` is the letter size (em)."""

    text: str
    at: Point
    size_mm: float
    colour: Colour = INK
    weight: Weight = Weight.PLAIN
    align: Align = Align.LEFT
    reading: Reading = Reading.LEVEL
    shows: str = ""

    @property
    def box(self) -> Box:
        """x0, y0, x1, y1 of the paper that the text takes."""
        width = text_width_mm(self.text, self.size_mm, self.weight)
        back = width * self.align.value
        above, below = ASCENT * self.size_mm, DESCENT * self.size_mm
        x, y = self.at
        if self.reading is Reading.LEVEL:
            return (x - back, y - below, x - back + width, y + above)
        return (x - above, y - back, x + below, y - back + width)


Mark = Stroke | Fill | Label


@dataclass(frozen=True, slots=True)
class Sheet:
    """One page: its size, its paper, and what is drawn on it."""

    width_mm: float
    height_mm: float
    marks: tuple[Mark, ...]
    paper: Colour = PAPER

    @property
    def ground(self) -> Fill:
        """The whole sheet in the colour of its paper."""
        w, h = self.width_mm, self.height_mm
        return Fill(((Point(0.0, 0.0), Point(w, 0.0), Point(w, h), Point(0.0, h)),), self.paper)

    @property
    def labels(self) -> tuple[Label, ...]:
        """Every text on the sheet."""
        return tuple(m for m in self.marks if isinstance(m, Label))

    def showing(self, subject: str) -> tuple[Mark, ...]:
        """The marks that stand for one thing of the model."""
        return tuple(m for m in self.marks if m.shows == subject)


def level_label(text: str, box: Box, size_mm: float, colour: Colour, weight: Weight, shows: str = "") -> Label:
    """A level label whose text takes the given box (as made from its own width and height)."""
    return Label(text, Point(box[0], box[1] + DESCENT * size_mm), size_mm, colour, weight, shows=shows)


def upright_label(text: str, box: Box, size_mm: float, colour: Colour, weight: Weight, shows: str = "") -> Label:
    """An upright label whose text takes the given box."""
    at = Point(box[2] - DESCENT * size_mm, box[1])
    return Label(text, at, size_mm, colour, weight, reading=Reading.UPRIGHT, shows=shows)
