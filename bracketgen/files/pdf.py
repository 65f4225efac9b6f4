"""Sheets as the pages of a PDF file, at true size, by reportlab.

The file asks viewers to print it unscaled. The library writes seven digits, so no line of a page up to A3 is off by
more than 1e-4 mm. The letters are embedded, and stand at the widths that sheets are laid out by. No clock is asked: the
same sheets give the same bytes with the same libraries. The file's date is that of SOURCE_DATE_EPOCH, or fixed.
Source: ISO 32000-1:2008; table 150 for the print scaling, annex C.2 for the largest page.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import Final

from reportlab.pdfbase.pdfmetrics import registerFont
from reportlab.pdfgen.canvas import FILL_EVEN_ODD, Canvas

from bracketgen.drawing.marks.lettering import Weight, drawable, font, text_width_mm
from bracketgen.drawing.sheet import WHITE, Colour, Fill, Label, Sheet, Stroke, TextDirection
from bracketgen.geometry.plane import Point
from bracketgen.units import INCH_MM

#: A point of the PDF format is 1/72 inch (8.3.2.3, default user space).
POINTS_PER_MM: Final = 72.0 / INCH_MM
#: The widest page of the format without a unit of its own is 14 400 points (annex C.2).
MOST_PAGE_MM: Final = 14400.0 / POINTS_PER_MM
#: The print scaling came with this version.
_VERSION: Final = (1, 6)
_ROUND: Final = 1
_BUTT: Final = 0


def pdf_bytes(pages: Sequence[Sheet], title: str = "", stamp: str = "") -> bytes:
    """The file with a page for each sheet, at the size that the sheet says (at most MOST_PAGE_MM).

    `title` is what a viewer's window shows, in any letters; `stamp` stands among the file's properties. The same bytes
    for the same sheets. Raises ValueError
    without a page or for one that is too large, and FontMissing.
    """
    if not pages:
        raise ValueError("a PDF file needs at least one page")
    for page in pages:
        if not (0.0 < page.width_mm <= MOST_PAGE_MM and 0.0 < page.height_mm <= MOST_PAGE_MM):
            raise ValueError(f"no PDF page can be {page.width_mm:g} x {page.height_mm:g} mm")
    for weight in Weight:
        registerFont(font(weight))
    stream = io.BytesIO()
    canvas = Canvas(
        stream, pageCompression=1, invariant=1, pdfVersion=_VERSION, initialFontName=font(Weight.PLAIN).fontName
    )
    canvas.setViewerPreference("PrintScaling", "None")
    canvas.setTitle(title)
    canvas.setAuthor("")
    canvas.setSubject(stamp)
    canvas.setCreator("bracketgen")
    for page in pages:
        _draw(canvas, page)
        canvas.showPage()
    canvas.save()
    return stream.getvalue()


def _draw(canvas: Canvas, sheet: Sheet) -> None:
    """All marks in their order, labels last, in the sheet's own millimetres."""
    canvas.setPageSize((sheet.width_mm * POINTS_PER_MM, sheet.height_mm * POINTS_PER_MM))
    canvas.scale(POINTS_PER_MM, POINTS_PER_MM)
    if sheet.paper != WHITE:
        _fill(canvas, sheet.ground)
    canvas.setLineJoin(_ROUND)
    for mark in sheet.marks:
        if isinstance(mark, Stroke):
            _stroke(canvas, mark)
        elif isinstance(mark, Fill):
            _fill(canvas, mark)
    for label in sheet.labels:
        _label(canvas, label)


def _stroke(canvas: Canvas, mark: Stroke) -> None:
    """A solid line has round ends; a dashed one keeps its pattern with square ends."""
    canvas.setStrokeColorRGB(*_shares(mark.colour))
    canvas.setLineWidth(mark.width_mm)
    canvas.setLineCap(_BUTT if mark.dash_mm else _ROUND)
    canvas.setDash(mark.dash_mm)
    _path(canvas, [mark.points[:-1] if mark.closed else mark.points], mark.closed, filled=False)


def _fill(canvas: Canvas, mark: Fill) -> None:
    canvas.setFillColorRGB(*_shares(mark.colour))
    _path(canvas, mark.rings, shut=True, filled=True)


def _path(canvas: Canvas, chains: Sequence[Sequence[Point]], shut: bool, filled: bool) -> None:
    path = canvas.beginPath()
    for chain in chains:
        for i, p in enumerate(chain):
            (path.lineTo if i else path.moveTo)(p.x, p.y)
        if shut:
            path.close()
    canvas.drawPath(path, stroke=int(not filled), fill=int(filled), fillMode=FILL_EVEN_ODD)


def _label(canvas: Canvas, label: Label) -> None:
    text = drawable(label.text, label.weight)
    back = text_width_mm(text, label.size_mm, label.weight) * label.align.value
    x, y = label.at
    words = canvas.beginText()
    if label.reading is TextDirection.LEVEL:
        words.setTextTransform(1, 0, 0, 1, x - back, y)
    else:
        words.setTextTransform(0, 1, -1, 0, x, y - back)
    words.setFont(font(label.weight).fontName, label.size_mm)
    canvas.setFillColorRGB(*_shares(label.colour))
    words.textOut(text)
    canvas.drawText(words)


def _shares(colour: Colour) -> tuple[float, ...]:
    return tuple(c / 255.0 for c in colour)
