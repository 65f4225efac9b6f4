"""The paper that a template is printed on, and which part of a sheet is for what."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import Final

from bracketgen.geometry.edge import Box

#: No ink nearer to the paper's edge than this: printers for home and office leave 3 to 7 mm white, some more at the
#: end where the paper leaves (common practice, no source).
MARGIN_MM: Final = 10.0
#: Strips along two edges that hold the bars, and the head of every sheet.
STRIP_MM: Final = 10.0
HEAD_MM: Final = 21.5


class PaperSize(Enum):
    """Width and height upright, mm. Source: ISO 216 (A4); ANSI/ASME Y14.1, size A (8.5 x 11 in)."""

    A4 = (210.0, 297.0)
    LETTER = (215.9, 279.4)

    @property
    def said(self) -> str:
        """The size in words."""
        return "A4 (210 × 297 mm)" if self is PaperSize.A4 else "Letter (8.5 × 11 in)"


class Lie(Enum):
    """How the sheet lies before the reader."""

    UPRIGHT = "upright"
    LEVEL = "level"


@dataclass(frozen=True, slots=True)
class Layout:
    """One sheet's size and areas, mm; `window` is where the part is drawn."""

    width_mm: float
    height_mm: float

    @staticmethod
    def of(paper: PaperSize, lie: Lie) -> Layout:
        """The areas of a sheet of this paper."""
        width, height = paper.value
        return Layout(width, height) if lie is Lie.UPRIGHT else Layout(height, width)

    @property
    def window(self) -> Box:
        """Right of one strip, above the other, below the head."""
        low = MARGIN_MM + STRIP_MM
        return (low, low, self.width_mm - MARGIN_MM, self.height_mm - MARGIN_MM - HEAD_MM)

    @property
    def head(self) -> Box:
        """Along the upper edge."""
        top = self.height_mm - MARGIN_MM
        return (MARGIN_MM, top - HEAD_MM, self.width_mm - MARGIN_MM, top)
