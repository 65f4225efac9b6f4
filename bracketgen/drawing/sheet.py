"""The colours of a sheet: dark ink on off-white, one warm and one cool accent.

Up and down differ in hue, in lightness and in the dash of their lines, so that they can be told apart by a
colour-blind reader and on a grey print.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import Final

from bracketgen.drawing.marks.lettering import ASCENT, DESCENT, Weight, text_width_mm
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point
from bracketgen.part.part import Way

#: Red, green, blue, 0 to 255.
Colour = tuple[int, int, int]

PAPER: Final[Colour] = (248, 244, 234)
INK: Final[Colour] = (30, 34, 40)
FAINT: Final[Colour] = (104, 104, 100)
HAIR: Final[Colour] = (196, 190, 176)
DESCRIBED_FACE: Final[Colour] = (221, 226, 226)
OTHER_FACE: Final[Colour] = (150, 160, 170)
FAIL: Final[Colour] = (146, 18, 28)
WARN: Final[Colour] = (244, 190, 40)
WHITE: Final[Colour] = (255, 255, 255)

#: Line and tint of a bend, by way.
WAY_LINE: Final[dict[Way, Colour]] = {Way.UP: (176, 74, 6), Way.DOWN: (8, 84, 140)}
WAY_TINT: Final[dict[Way, Colour]] = {Way.UP: (246, 214, 184), Way.DOWN: (196, 220, 240)}
#: Lengths of dash and gap along a bend's centre line, mm: long-short for up, short only for down.
WAY_DASH: Final[dict[Way, tuple[float, ...]]] = {Way.UP: (4.0, 1.0, 1.0, 1.0), Way.DOWN: (1.8, 1.2)}


def shaded(colour: Colour, light: float) -> Colour:
    """The colour in `light` (0 = black, 1 = as it is)."""
    r, g, b = (max(0, min(255, round(c * light))) for c in colour)
    return (r, g, b)


def mixed(a: Colour, b: Colour, share: float) -> Colour:
    """A `share` (0 to 1) of `b` in `a`."""
    r, g, v = (round(x + (y - x) * share) for x, y in zip(a, b, strict=True))
    return (r, g, v)


# A sheet of plain drawing calls, as values; knows no file format.
#
# Millimetres on the paper, x right, y up, origin in the lower left corner. Marks are drawn in order, labels last.
# Curves are chains of points, fine enough for a picture.


class Align(Enum):
    """Which point of a label's base line `at` is; the value is its share of the width."""

    LEFT = 0.0
    CENTRE = 0.5
    RIGHT = 1.0


class TextDirection(Enum):
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
    reading: TextDirection = TextDirection.LEVEL
    shows: str = ""

    @property
    def box(self) -> Box:
        """x0, y0, x1, y1 of the paper that the text takes."""
        width = text_width_mm(self.text, self.size_mm, self.weight)
        back = width * self.align.value
        above, below = ASCENT * self.size_mm, DESCENT * self.size_mm
        x, y = self.at
        if self.reading is TextDirection.LEVEL:
            return (x - back, y - below, x - back + width, y + above)
        return (x - above, y - back, x + below, y - back + width)


Mark = Stroke | Fill | Label


def border(box: Box, width_mm: float, colour: Colour = INK, shows: str = "") -> Stroke:
    """A line around a box."""
    x0, y0, x1, y1 = box
    corners = (Point(x0, y0), Point(x1, y0), Point(x1, y1), Point(x0, y1), Point(x0, y0))
    return Stroke(corners, width_mm, colour, shows=shows)


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
    return Label(text, at, size_mm, colour, weight, reading=TextDirection.UPRIGHT, shows=shows)
