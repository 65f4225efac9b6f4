"""The plain way of filling a sheet: each piece in the box round it, the boxes one after another, largest first."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from bracketgen.geometry.placement import Placement
from bracketgen.geometry.point import Point
from bracketgen.shop.nesting.piece import Lying, Piece, Plate, Room

#: Boxes that touch within this still fit.
_TOUCH_MM: Final = 1e-9

#: x0, y0, x1, y1
Rect = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class _Choice:
    """A turn of a piece in a free rectangle; the least `waste` is taken."""

    waste: tuple[float, float]
    lying: Lying
    box: Rect


def fill_by_boxes(pieces: Sequence[Piece], plate: Plate, room: Room) -> tuple[Lying, ...]:
    """As many of the pieces, each standing for one, as find room on the sheet.

    Free metal is kept as the largest empty rectangles, which may overlap; a box goes where the shorter of the two
    rests beside it is least.
    """
    low, gap = room.margin_mm, room.gap_mm
    # Every box carries its gap at its right and upper side; so does the usable field.
    free: list[Rect] = [(low, low, plate.length_mm - low + gap, plate.width_mm - low + gap)]
    placed: list[Lying] = []
    for piece in sorted(pieces, key=_size, reverse=True):
        choices = [c for rect in free for c in _choices(piece, plate, rect, gap)]
        if not choices:
            continue
        best = min(choices, key=lambda c: (c.waste, c.box))
        placed.append(best.lying)
        free = _largest([rest for rect in free for rest in _without(rect, best.box)])
    return tuple(placed)


def _size(piece: Piece) -> tuple[float, float, str]:
    x0, y0, x1, y1 = piece.outline.bounds()
    return max(x1 - x0, y1 - y0), (x1 - x0) * (y1 - y0), piece.name


def _choices(piece: Piece, plate: Plate, rect: Rect, gap: float) -> Iterator[_Choice]:
    # A box turned by half a turn takes the same room.
    for angle in sorted({a % 180.0 for a in piece.angles(plate.rolled)}):
        x0, y0, x1, y1 = piece.outline.moved(Placement.turned(angle)).bounds()
        wide, high = x1 - x0 + gap, y1 - y0 + gap
        rest_x, rest_y = rect[2] - rect[0] - wide, rect[3] - rect[1] - high
        if min(rest_x, rest_y) < -_TOUCH_MM:
            continue
        at = Point(rect[0] - x0, rect[1] - y0)
        box = (rect[0], rect[1], rect[0] + wide, rect[1] + high)
        yield _Choice((min(rest_x, rest_y), max(rest_x, rest_y)), Lying(piece, angle, at), box)


def _without(rect: Rect, taken: Rect) -> list[Rect]:
    """The largest rectangles left of a free one when a box is taken from it."""
    x0, y0, x1, y1 = rect
    a0, b0, a1, b1 = taken
    if a0 >= x1 - _TOUCH_MM or a1 <= x0 + _TOUCH_MM or b0 >= y1 - _TOUCH_MM or b1 <= y0 + _TOUCH_MM:
        return [rect]
    rests = [(x0, y0, a0, y1), (a1, y0, x1, y1), (x0, y0, x1, b0), (x0, b1, x1, y1)]
    return [r for r in rests if r[2] - r[0] > _TOUCH_MM and r[3] - r[1] > _TOUCH_MM]


def _largest(rects: Sequence[Rect]) -> list[Rect]:
    """Without those that lie in another."""
    kept: list[Rect] = []
    for rect in sorted(set(rects), key=lambda r: (-(r[2] - r[0]) * (r[3] - r[1]), r)):
        if not any(k[0] <= rect[0] and k[1] <= rect[1] and k[2] >= rect[2] and k[3] >= rect[3] for k in kept):
            kept.append(rect)
    return kept
