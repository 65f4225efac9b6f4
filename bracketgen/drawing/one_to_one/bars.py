"""The bars that show whether a sheet came out of the printer at its true size."""

from __future__ import annotations

from typing import Final

from bracketgen.drawing.one_to_one.paper_size import MARGIN_MM, STRIP_MM, Layout
from bracketgen.drawing.one_to_one.tiles import Scale
from bracketgen.drawing.paper.palette import INK
from bracketgen.drawing.sheet import Fill, Label, Mark, Reading, Stroke
from bracketgen.geometry.plane import Point
from bracketgen.units import MM_PER_INCH

#: What the bars are, in mm of the printed sheet.
BAR_MM: Final = 100.0
BAR_INCH_MM: Final = 4 * float(MM_PER_INCH)
_LENGTHS: Final = (("100 mm", BAR_MM), ("4 in", BAR_INCH_MM))
_THICK_MM: Final = 0.9
_TICK_MM: Final = 1.9
_HAIR_MM: Final = 0.12
_TEXT_MM: Final = 2.8
#: From the strip's outer edge to the axis of each bar.
_AXES_MM: Final = (7.4, 2.4)


def bars(layout: Layout, scale: Scale) -> list[Mark]:
    """Both bars across and up the sheet: from tick to tick they are true when the printer prints `scale`."""
    marks: list[Mark] = []
    low = MARGIN_MM + STRIP_MM
    for (name, true_mm), off in zip(_LENGTHS, _AXES_MM, strict=True):
        start = Point(low, MARGIN_MM + off)
        marks += _bar(name, "across", start, Point(1.0, 0.0), true_mm / scale[0])
        start = Point(MARGIN_MM + off, low)
        marks += _bar(name, "up", start, Point(0.0, 1.0), true_mm / scale[1])
    return marks


def _bar(name: str, way: str, start: Point, along: Point, length: float) -> list[Mark]:
    shows = f"bar {name} {way}"
    end, side = start.plus(along, length), along.left()
    corners = (start, end, end.plus(side, _THICK_MM), start.plus(side, _THICK_MM))
    ticks = [
        Stroke((p.plus(side, -_TICK_MM), p.plus(side, _TICK_MM)), _HAIR_MM, INK, shows=shows) for p in (start, end)
    ]
    reading = Reading.LEVEL if way == "across" else Reading.UPRIGHT
    # Up the sheet the letters' feet stand on the right, so the base line lies on the other side of the axis.
    at = end.plus(along, 2.5).plus(Point(0.0, -0.9) if reading is Reading.LEVEL else Point(0.9, 0.0))
    said = f"{name} {way}, measured: .............."
    return [Fill((corners,), INK, shows), *ticks, Label(said, at, _TEXT_MM, INK, reading=reading, shows=shows)]
