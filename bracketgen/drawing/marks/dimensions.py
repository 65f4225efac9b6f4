"""Overall sizes beside a view, and the strip under it: axes, scale bar, rolling direction, kinds of lines."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Final

from bracketgen.bending.flat import Flat
from bracketgen.drawing.marks.flat_lines import PaperMap, centred_map
from bracketgen.drawing.marks.lettering import ASCENT, DESCENT, Weight, text_width_mm
from bracketgen.drawing.sheet import (
    FAINT,
    INK,
    WAY_DASH,
    WAY_LINE,
    Align,
    Fill,
    Label,
    Mark,
    Stroke,
    TextDirection,
    arrow,
    arrow_head,
    border,
    corners_of,
)
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point, polar
from bracketgen.part.part import Way
from bracketgen.units import inches, plain

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
        label = Label(size_text(mm), at, *size, Align.CENTRE, TextDirection.UPRIGHT, shows="overall size")
    else:
        at = Point(x - 2.0, middle - 0.27 * SIZE_MM)
        label = Label(size_text(mm), at, *size, Align.RIGHT, shows="overall size")
    return [*_line(a, b), *_extensions(a, b, Point(1.0, 0.0), _BEYOND_MM), label]


def overall_sizes(flat: Flat, to_paper: PaperMap, area: Box) -> list[Mark]:
    """The overall sizes of the flat as it lies in the view."""
    x0, y0, x1, y1 = flat.bounds_mm
    shape = to_paper.box(flat.bounds_mm)
    wide, high = (x1 - x0, y1 - y0) if to_paper.level else (y1 - y0, x1 - x0)
    return [*width_marks(wide, shape, area), *height_marks(high, shape)]


def sized_map(
    flat: Flat, area: Box, ring_mm: float, scale_of: Callable[[float, float, tuple[float, float]], float], worth: float
) -> PaperMap:
    """The flat in the middle of what its overall sizes, on the left and below, and a free ring leave of `area`.

    `scale_of` finds the scale for a width, a height and the room for them; the flat is turned a quarter where that
    makes it more than `worth` times larger.
    """
    x0, y0, x1, y1 = flat.bounds_mm
    found: list[PaperMap] = []
    for turn_deg, (wide, high) in ((0.0, (x1 - x0, y1 - y0)), (90.0, (y1 - y0, x1 - x0))):
        left = REACH_MM
        for _ in range(2):
            free = (area[0] + left + 1.0, area[1] + REACH_MM + 1.0, area[2] - ring_mm, area[3] - ring_mm)
            scale = scale_of(wide, high, (free[2] - free[0], free[3] - free[1]))
            left = reach_left(high, high * scale)
        found.append(centred_map(flat.bounds_mm, free, scale, turn_deg))
    level, turned = found
    return turned if turned.scale > worth * level.scale else level


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


# -- the strip under a flat: axes, scale bar, rolling direction, and what the lines mean

LEGEND_MM: Final = 15.0
_LEGEND_TEXT_MM: Final = 3.3
_LONGEST_BAR_MM: Final = 52.0
_STEPS: Final = (1.0, 2.0, 5.0)


def legend(flat: Flat, to_paper: PaperMap, box: Box) -> list[Mark]:
    """The strip's marks, from left to right inside `box` (at least 150 mm wide, LEGEND_MM high)."""
    x0, y0, x1, _ = box
    # The first panel's x and y as they lie in the view.
    x, y = to_paper.direction(Point(1.0, 0.0)), to_paper.direction(Point(0.0, 1.0))
    marks = axis_arrows((("x", x), ("y", y)), Point(x0 + 7.0, y0 + LEGEND_MM / 2).plus(x.plus(y), -3.5))
    marks += scale_bar(to_paper.scale, Point(x0 + 19.0, y0 + 6.0))
    marks += grain_marks(flat, to_paper, Point(x0 + 87.0, y0 + LEGEND_MM / 2), _LEGEND_TEXT_MM)
    marks += _line_kinds(flat, Point(x1 - 40.0, y0 + LEGEND_MM / 2))
    return marks


def axis_arrows(axes: Sequence[tuple[str, Point]], corner: Point) -> list[Mark]:
    """An arrow for each named direction, 8 mm times the direction's length on the paper."""
    marks: list[Mark] = []
    for name, d in axes:
        tip = corner.plus(d, 8.0)
        marks += arrow(corner, tip, 0.3, 2.2, shows=f"axis {name}")
        at = tip.plus(d.unit(), 2.0).plus(Point(0.0, -0.9))
        marks.append(Label(name, at, 3.0, INK, Weight.BOLD, Align.CENTRE))
    return marks


def bar_length_mm(scale: float) -> float:
    """The longest of 1, 2, 5, 10, 20, 50 ... mm of the part that makes a bar of at most 52 mm of paper."""
    decade = 10.0 ** math.floor(math.log10(_LONGEST_BAR_MM / scale))
    return max(s * decade for s in _STEPS if s * decade * scale <= _LONGEST_BAR_MM)


def scale_bar(scale: float, at: Point) -> list[Mark]:
    """A bar of a round length, 2 mm high above `at`, with its length in both units below."""
    length = bar_length_mm(scale)
    half, shows = length * scale / 2, "scale bar"
    return [
        Fill((corners_of((at.x, at.y, at.x + half, at.y + 2.0)),), INK, shows),
        border((at.x, at.y, at.x + 2 * half, at.y + 2.0), 0.3, shows=shows),
        Label(size_text(length), at.plus(Point(0.0, -4.2)), _LEGEND_TEXT_MM, INK, shows=shows),
    ]


def grain_marks(flat: Flat, to_paper: PaperMap, centre: Point, size_mm: float, also: str = "") -> list[Mark]:
    """A double arrow along the rolling direction, or the plain words that it is not known."""
    grain, shows = flat.part.stock.grain_deg, "rolling direction"
    if grain is None:
        at = centre.plus(Point(-9.0, -1.1))
        return [Label("rolling direction not stated", at, size_mm, FAINT, shows=shows)]
    d = to_paper.direction(polar(1.0, math.radians(grain)))
    ends = (centre.plus(d, -6.5), centre.plus(d, 6.5))
    heads = [m for tail, tip in (ends, ends[::-1]) for m in arrow(tail, tip, 0.65, 3.1, shows=shows)]
    return [*heads, Label(f"rolling direction{also}", centre.plus(Point(9.0, -1.1)), size_mm, INK, shows=shows)]


def _line_kinds(flat: Flat, at: Point) -> list[Mark]:
    """How bends up and down are drawn, for the ways that occur."""
    marks: list[Mark] = []
    ways = [w for w in Way if any(s.bend.way is w for s in flat.strips)]
    for row, way in enumerate(ways):
        y = at.y + 2.6 - 5.2 * row - (2.6 if len(ways) == 1 else 0.0)
        line = (Point(at.x, y), Point(at.x + 14.0, y))
        words = "up, toward you" if way is Way.UP else "down, away"
        marks.append(Stroke(line, 0.5, WAY_LINE[way], WAY_DASH[way]))
        marks.append(Label(words, Point(at.x + 16.0, y - 1.1), _LEGEND_TEXT_MM, WAY_LINE[way]))
    return marks
