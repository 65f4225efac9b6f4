"""Papers, colours and marks: a sheet of plain drawing calls, as values; knows no file format.

Millimetres on the paper, x right, y up, origin in the lower left corner. Marks are drawn in order, labels last. Curves
are chains of points, fine enough for a picture.

Dark ink on off-white, one warm and one cool accent. Up and down differ in hue, in lightness and in the dash of their
lines, so that they can be told apart by a colour-blind reader and on a grey print.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import Enum
from itertools import pairwise
from typing import Final

from bracketgen.drawing.marks.lettering import ASCENT, DESCENT, Weight, text_width_mm
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point, polar
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


# -- marks


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


@dataclass(frozen=True, slots=True)
class LineType:
    """How lines of a kind are drawn: width and dashes, mm, colour; `words` is what they stand for."""

    width_mm: float
    dash_mm: tuple[float, ...] = ()
    colour: Colour = INK
    words: str = ""

    def line(self, points: Sequence[Point], shows: str = "", colour: Colour | None = None) -> Stroke:
        """A line of this type."""
        return Stroke(tuple(points), self.width_mm, self.colour if colour is None else colour, self.dash_mm, shows)


def level_label(text: str, box: Box, size_mm: float, colour: Colour, weight: Weight, shows: str = "") -> Label:
    """A level label whose text takes the given box (as made from its own width and height)."""
    return Label(text, Point(box[0], box[1] + DESCENT * size_mm), size_mm, colour, weight, shows=shows)


def upright_label(text: str, box: Box, size_mm: float, colour: Colour, weight: Weight, shows: str = "") -> Label:
    """An upright label whose text takes the given box."""
    at = Point(box[2] - DESCENT * size_mm, box[1])
    return Label(text, at, size_mm, colour, weight, reading=TextDirection.UPRIGHT, shows=shows)


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
        return Fill((corners_of((0.0, 0.0, self.width_mm, self.height_mm)),), self.paper)

    @property
    def labels(self) -> tuple[Label, ...]:
        """Every text on the sheet."""
        return tuple(m for m in self.marks if isinstance(m, Label))

    def showing(self, subject: str) -> tuple[Mark, ...]:
        """The marks that stand for one thing of the model."""
        return tuple(m for m in self.marks if m.shows == subject)


# -- shapes on the paper


def closed(ring: Sequence[Point]) -> tuple[Point, ...]:
    """The ring with its first point again at the end."""
    return (*ring, ring[0])


def corners_of(box: Box) -> tuple[Point, ...]:
    """The corners of a box, anticlockwise from the lower left one."""
    x0, y0, x1, y1 = box
    return (Point(x0, y0), Point(x1, y0), Point(x1, y1), Point(x0, y1))


def centre_of(box: Box) -> Point:
    """The middle of a box."""
    return Point((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)


def box_of(points: Iterable[Point]) -> Box:
    """The box around points."""
    xs, ys = zip(*points, strict=True)
    return (min(xs), min(ys), max(xs), max(ys))


def padded(box: Box, by_mm: float) -> Box:
    """The box larger by a margin on every side (smaller when the margin is negative)."""
    return (box[0] - by_mm, box[1] - by_mm, box[2] + by_mm, box[3] + by_mm)


def within(p: Point, box: Box) -> bool:
    """Whether a point lies in the box."""
    return box[0] <= p.x <= box[2] and box[1] <= p.y <= box[3]


def border(box: Box, width_mm: float, colour: Colour = INK, shows: str = "") -> Stroke:
    """A line around a box."""
    return Stroke(closed(corners_of(box)), width_mm, colour, shows=shows)


def disc_points(centre: Point, radius: float) -> tuple[Point, ...]:
    """A small round on the paper, as a ring of 32 points."""
    return tuple(centre.plus(polar(radius, 2.0 * math.pi * i / 32)) for i in range(32))


def cross(at: Point, box: Box, beyond_mm: float = 0.0) -> tuple[tuple[Point, Point], tuple[Point, Point]]:
    """A level and an upright line through a point, from side to side of a box and beyond it."""
    x0, y0, x1, y1 = padded(box, beyond_mm)
    return (Point(x0, at.y), Point(x1, at.y)), (Point(at.x, y0), Point(at.x, y1))


def arrow_head(tip: Point, direction: Point, length_mm: float) -> tuple[Point, ...]:
    """A slim triangle with its tip at `tip`."""
    back = tip.plus(direction, -length_mm)
    side = direction.left().scaled(length_mm * 0.28)
    return (tip, back.plus(side), back.minus(side))


def arrow(
    tail: Point, tip: Point, width_mm: float, head_mm: float, colour: Colour = INK, shows: str = ""
) -> list[Mark]:
    """A line with a head at its tip."""
    head = arrow_head(tip, tip.minus(tail).unit(), head_mm)
    return [Stroke((tail, tip), width_mm, colour, shows=shows), Fill((head,), colour, shows)]


def belt(points: Iterable[Point]) -> tuple[Point, ...]:
    """The corners of the tightest convex ring around points, anticlockwise (Andrew's monotone chain)."""
    ordered = sorted(set(points))
    if len(ordered) < 3:
        return tuple(ordered)
    return tuple(_half_belt(ordered)[:-1] + _half_belt(ordered[::-1])[:-1])


def _half_belt(ordered: Sequence[Point]) -> list[Point]:
    chain: list[Point] = []
    for p in ordered:
        while len(chain) > 1 and chain[-1].minus(chain[-2]).cross(p.minus(chain[-1])) <= 0.0:
            chain.pop()
        chain.append(p)
    return chain


# -- what lies inside an upright box


def cropped(ring: Sequence[Point], box: Box) -> tuple[Point, ...]:
    """A ring cut at the sides of a box (Sutherland and Hodgman, 1974); pieces hang together along the sides."""
    kept = list(ring)
    for axis, limit, sign in ((0, box[0], 1.0), (0, box[2], -1.0), (1, box[1], 1.0), (1, box[3], -1.0)):
        made: list[Point] = []
        for a, b in zip(kept, kept[1:] + kept[:1], strict=True):
            h, k = sign * (a[axis] - limit), sign * (b[axis] - limit)
            if h >= 0.0:
                made.append(a)
            if (h > 0.0 > k) or (h < 0.0 < k):
                made.append(a.plus(b.minus(a), h / (h - k)))
        kept = made
    return tuple(kept)


def clipped(points: Sequence[Point], box: Box) -> list[tuple[Point, ...]]:
    """The pieces of a chain inside a box, each in the chain's order; the whole chain when nothing is cut off."""
    pieces: list[list[Point]] = []
    for a, b in pairwise(points):
        inside = _clipped_line(a, b, box)
        if inside is None:
            continue
        start, end = inside
        if pieces and pieces[-1][-1] == start == a:
            pieces[-1].append(end)
        else:
            pieces.append([start, end])
    return [tuple(p) for p in pieces]


def _clipped_line(a: Point, b: Point, box: Box) -> tuple[Point, Point] | None:
    """The part of a straight line inside the box (Liang and Barsky, 1984)."""
    d = b.minus(a)
    first, last = 0.0, 1.0
    for slope, room in ((-d.x, a.x - box[0]), (d.x, box[2] - a.x), (-d.y, a.y - box[1]), (d.y, box[3] - a.y)):
        if slope == 0.0:
            if room < 0.0:
                return None
        elif slope < 0.0:
            first = max(first, room / slope)
        else:
            last = min(last, room / slope)
    if first >= last:
        return None
    return (a if first == 0.0 else a.plus(d, first), b if last == 1.0 else a.plus(d, last))


# -- the papers that sheets are made for


class Paper(Enum):
    """Width and height upright, mm. Source: ISO 216 (A4, A3); ANSI/ASME Y14.1, size A (8.5 x 11 in)."""

    A4 = (210.0, 297.0)
    A3 = (297.0, 420.0)
    LETTER = (215.9, 279.4)

    @property
    def upright(self) -> tuple[float, float]:
        """Width and height, mm, the longer side standing."""
        return self.value

    @property
    def level(self) -> tuple[float, float]:
        """Width and height, mm, the longer side lying."""
        width, height = self.value
        return (height, width)

    @property
    def words(self) -> str:
        """The size in words, such as 'A4 (210 × 297 mm)'."""
        if self is Paper.LETTER:
            return "Letter (8.5 × 11 in)"
        width, height = self.value
        return f"{self.name} ({width:.0f} × {height:.0f} mm)"


#: Width and height of every picture: A4 lying.
WIDTH_MM, HEIGHT_MM = Paper.A4.level
