"""Overall sizes beside a view, in mm and inch."""

from __future__ import annotations

from typing import Final

from bracketgen.drawing.marks.plain_numbers import inches, plain
from bracketgen.drawing.paper.lettering import ASCENT, DESCENT, Weight, text_width_mm
from bracketgen.drawing.paper.palette import INK
from bracketgen.drawing.paper.trace import arrow_head
from bracketgen.drawing.sheet import Align, Fill, Label, Mark, Reading, Stroke
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point

SIZE_MM: Final = 3.8
#: From the part's edge to the dimension line, and to the outer edge of its text.
OFFSET_MM: Final = 8.5
REACH_MM: Final = OFFSET_MM + 1.0 + (ASCENT + DESCENT) * SIZE_MM
_THIN_MM: Final = 0.22
#: How far an extension line goes on behind the dimension line, and how far where words lie there.
_BEYOND_MM: Final = 1.2
_BEYOND_UNDER_WORDS_MM: Final = 0.4
_HEAD_MM: Final = 2.6


def size_text(mm: float) -> str:
    """A length as '184.3 mm (7.26 in)'."""
    return f"{plain(mm)} mm ({inches(mm)} in)"


def text_width(mm: float) -> float:
    """Paper that the text of a dimension needs, mm."""
    return text_width_mm(size_text(mm), SIZE_MM, Weight.BOLD)


def reach_left(mm: float, height_on_paper: float) -> float:
    """Paper needed on the left for the height's dimension: more when the text does not fit along it."""
    return REACH_MM if text_width(mm) <= height_on_paper else OFFSET_MM + 2.0 + text_width(mm)


def width_marks(mm: float, shape: Box, area: Box) -> list[Mark]:
    """The dimension below a shape, as long as the shape is wide; its text keeps inside `area`."""
    y = shape[1] - OFFSET_MM
    half = text_width(mm) / 2
    x = min(max((shape[0] + shape[2]) / 2, area[0] + half), area[2] - half)
    below = y - 1.0 - ASCENT * SIZE_MM
    label = Label(size_text(mm), Point(x, below), SIZE_MM, INK, Weight.BOLD, Align.CENTRE, shows="overall size")
    a, b = Point(shape[0], y), Point(shape[2], y)
    beyond = _BEYOND_MM if 2 * half < shape[2] - shape[0] else _BEYOND_UNDER_WORDS_MM
    return [*_line(a, b), *_extensions(a, b, Point(0.0, 1.0), beyond), label]


def height_marks(mm: float, shape: Box) -> list[Mark]:
    """The dimension on the left of a shape, as long as the shape is high."""
    x = shape[0] - OFFSET_MM
    a, b = Point(x, shape[1]), Point(x, shape[3])
    middle = (shape[1] + shape[3]) / 2
    size = (SIZE_MM, INK, Weight.BOLD)
    if text_width(mm) <= shape[3] - shape[1]:
        at = Point(x - 1.0 - DESCENT * SIZE_MM, middle)
        label = Label(size_text(mm), at, *size, Align.CENTRE, Reading.UPRIGHT, shows="overall size")
    else:
        at = Point(x - 2.0, middle - 0.27 * SIZE_MM)
        label = Label(size_text(mm), at, *size, Align.RIGHT, shows="overall size")
    return [*_line(a, b), *_extensions(a, b, Point(1.0, 0.0), _BEYOND_MM), label]


def _line(a: Point, b: Point) -> list[Mark]:
    """The line with arrow heads: between its ends where they fit, else from outside."""
    along = b.minus(a).unit()
    fits = a.distance(b) > 3 * _HEAD_MM
    heads = [arrow_head(a, along.scaled(-1.0 if fits else 1.0), _HEAD_MM)]
    heads.append(arrow_head(b, along.scaled(1.0 if fits else -1.0), _HEAD_MM))
    tails = (a, b) if fits else (a.plus(along, -2 * _HEAD_MM), b.plus(along, 2 * _HEAD_MM))
    return [Stroke(tails, _THIN_MM), *(Fill((h,), INK) for h in heads)]


def _extensions(a: Point, b: Point, toward: Point, beyond_mm: float) -> list[Mark]:
    """The two thin lines from the shape to the dimension line and a little beyond it."""
    return [Stroke((p.plus(toward, -beyond_mm), p.plus(toward, OFFSET_MM - 1.0)), _THIN_MM) for p in (a, b)]
