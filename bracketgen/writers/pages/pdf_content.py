"""The drawing operators of one page of a PDF file, in millimetres. Source: ISO 32000-1:2008, chapters 8 and 9."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from bracketgen.drawing.paper.lettering import Weight
from bracketgen.drawing.paper.palette import WHITE, Colour
from bracketgen.drawing.sheet import Fill, Label, Reading, Sheet, Stroke
from bracketgen.geometry.point import Point
from bracketgen.units import MM_PER_INCH
from bracketgen.writers.pages.pdf_font import Subset

#: A point of the PDF format is 1/72 inch (8.3.2.3, default user space).
POINTS_PER_MM = 72.0 / float(MM_PER_INCH)
#: Names of the fonts in a page's resources.
FONT_NAMES = {Weight.PLAIN: "F1", Weight.BOLD: "F2"}


def page_content(sheet: Sheet, fonts: Mapping[Weight, Subset]) -> bytes:
    """All marks in their order, labels last, each in the sheet's own millimetres."""
    lines = [f"{POINTS_PER_MM:.12f} 0 0 {POINTS_PER_MM:.12f} 0 0 cm"]
    if sheet.paper != WHITE:
        lines += [f"{_colour(sheet.paper)} rg", f"0 0 {number(sheet.width_mm)} {number(sheet.height_mm)} re f"]
    pen = _Pen()
    for mark in sheet.marks:
        if isinstance(mark, Stroke):
            lines += pen.stroke(mark)
        elif isinstance(mark, Fill):
            lines += [f"{_colour(mark.colour)} rg", *(_path(ring, True) for ring in mark.rings), "f*"]
    for label in sheet.labels:
        lines.append(_text(label, fonts[label.weight]))
    return "\n".join(lines).encode("ascii") + b"\n"


class _Pen:
    """Says width, dash, ends and colour of a stroke only where they change."""

    def __init__(self) -> None:
        self._held: dict[str, str] = {}

    def stroke(self, mark: Stroke) -> list[str]:
        """One chain of points; a solid one has round ends, a dashed one keeps its pattern with square ends."""
        dash = " ".join(map(number, mark.dash_mm))
        wanted = {
            "w": number(mark.width_mm),
            "d": f"[{dash}] 0",
            "J": "0" if mark.dash_mm else "1",
            "j": "1",
            "RG": _colour(mark.colour),
        }
        said = [f"{value} {operator}" for operator, value in wanted.items() if self._held.get(operator) != value]
        self._held = wanted
        shut = len(mark.points) > 2 and mark.points[0] == mark.points[-1]
        return [*said, _path(mark.points[:-1] if shut else mark.points, shut), "S"]


def number(value: float) -> str:
    """A number to a ten-thousandth, never in powers of ten."""
    digits = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if digits == "-0" else digits


def _colour(colour: Colour) -> str:
    return " ".join(number(c / 255.0) for c in colour)


def _path(points: Sequence[Point], shut: bool) -> str:
    """Lines through the points, closed or open."""
    steps = [f"{number(p.x)} {number(p.y)} {'l' if i else 'm'}" for i, p in enumerate(points)]
    return "\n".join([*steps, "h"] if shut else steps)


def _text(label: Label, font: Subset) -> str:
    """A label by glyph numbers, so that no viewer puts another font in its place."""
    back = font.width(label.text, label.size_mm) * label.align.value
    if label.reading is Reading.LEVEL:
        matrix = f"1 0 0 1 {number(label.at.x - back)} {number(label.at.y)}"
    else:
        matrix = f"0 1 -1 0 {number(label.at.x)} {number(label.at.y - back)}"
    font_line = f"/{FONT_NAMES[label.weight]} {number(label.size_mm)} Tf"
    return f"BT {_colour(label.colour)} rg {font_line} {matrix} Tm <{font.encoded(label.text)}> Tj ET"
