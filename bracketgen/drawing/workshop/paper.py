"""The paper of a workshop's sheets, which part of a page is for what, and the scales that are drawn to."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import Final

from bracketgen.geometry.line import Box

#: From the paper's edge to the frame; printers leave 3 to 7 mm white (common practice, no source).
_MARGIN_MM: Final = 8.0
#: Height of the title block along the lower edge.
TITLE_MM: Final = 23.0
_HEAD_MM: Final = 8.0
_AIR_MM: Final = 3.0
#: Least width of a column of text, and the paper between two.
_COLUMN_MM: Final = 82.0
BETWEEN_MM: Final = 5.0

#: Drawing to part. Source: ISO 5455, from memory: 1, 2 and 5 with their tens.
SCALES: Final = (5.0, 2.0, 1.0, 1 / 2, 1 / 5, 1 / 10, 1 / 20, 1 / 50, 1 / 100, 1 / 200)


class Paper(Enum):
    """Width and height of a level sheet, mm. Source: ISO 216; letter 11 x 8.5 in (ANSI Y14.1, from memory)."""

    A4 = (297.0, 210.0)
    A3 = (420.0, 297.0)
    LETTER = (279.4, 215.9)


@dataclass(frozen=True, slots=True)
class PageAreas:
    """Where the frame, the title block, the head line and the content of a page lie, mm."""

    paper: Paper

    @property
    def frame(self) -> Box:
        """The border of the page."""
        width, height = self.paper.value
        return (_MARGIN_MM, _MARGIN_MM, width - _MARGIN_MM, height - _MARGIN_MM)

    @property
    def title(self) -> Box:
        """Along the lower edge of the frame."""
        x0, y0, x1, _ = self.frame
        return (x0, y0, x1, y0 + TITLE_MM)

    @property
    def head(self) -> Box:
        """Along the upper edge, within the frame."""
        x0, _, x1, y1 = self.frame
        return (x0 + _AIR_MM, y1 - _HEAD_MM, x1 - _AIR_MM, y1)

    @property
    def content(self) -> Box:
        """Between head and title block."""
        x0, y0, x1, y1 = self.frame
        return (x0 + _AIR_MM, y0 + TITLE_MM + _AIR_MM, x1 - _AIR_MM, y1 - _HEAD_MM - 1.0)


def columns_of(box: Box) -> list[Box]:
    """As many equal columns as have room for text side by side, from left to right."""
    width = box[2] - box[0]
    count = max(1, int((width + BETWEEN_MM) / (_COLUMN_MM + BETWEEN_MM)))
    each = (width - BETWEEN_MM * (count - 1)) / count
    lefts = [box[0] + i * (each + BETWEEN_MM) for i in range(count)]
    return [(x, box[1], x + each, box[3]) for x in lefts]


def standard_scale(width_mm: float, height_mm: float, room: tuple[float, float]) -> float:
    """The largest standard scale at which a thing of that size fits; the smallest one when none does."""
    fitting = (s for s in SCALES if width_mm * s <= room[0] and height_mm * s <= room[1])
    return next(fitting, SCALES[-1])


def scale_words(scale: float) -> str:
    """Such as '1:2' or '5:1'."""
    return f"{round(scale)}:1" if scale >= 1.0 else f"1:{round(1.0 / scale)}"
