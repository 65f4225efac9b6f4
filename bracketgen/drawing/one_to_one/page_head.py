"""The head of every sheet of a template: what it is, which sheet, which face, what to beware of."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from bracketgen.bending.flat import Flat
from bracketgen.drawing.marks.plain_numbers import plain
from bracketgen.drawing.one_to_one.paper_size import Layout, PaperSize
from bracketgen.drawing.one_to_one.plane_map import Face
from bracketgen.drawing.one_to_one.tiles import Scale
from bracketgen.drawing.one_to_one.words import face_words
from bracketgen.drawing.paper.lettering import Weight, one_line, shortened, text_width_mm
from bracketgen.drawing.paper.palette import FAIL, INK, Colour
from bracketgen.drawing.picture.head_and_foot import stock_line
from bracketgen.drawing.sheet import Align, Label, Mark, Stroke
from bracketgen.geometry.plane import Point

TRUE: Final[Scale] = (1.0, 1.0)
_TITLE_MM: Final = 4.4
_TEXT_MM: Final = 2.9
_STEP_MM: Final = 3.7
#: On every sheet, whatever the part is.
CAUTION: Final = "A paper template proves holes and clearance, not strength. Try it on cold metal, away from fuel."


@dataclass(frozen=True, slots=True)
class Subject:
    """What a template is of, and for which printer; `notice` is a warning that stands on every sheet."""

    flat: Flat
    face: Face
    paper: PaperSize
    scale: Scale
    notice: str = ""


def page_head(subject: Subject, layout: Layout, place: str) -> list[Mark]:
    """Title and `place` (such as 'sheet 2 of 3'), three or four lines of small words, a rule."""
    x0, y0, x1, y1 = layout.head
    part = subject.flat.part
    y = y1 - _TITLE_MM
    right = text_width_mm(place, _TITLE_MM, Weight.BOLD)
    title = shortened(one_line(part.title or part.name), x1 - x0 - right - 6.0, _TITLE_MM, Weight.BOLD)
    marks: list[Mark] = [
        Label(title, Point(x0, y), _TITLE_MM, INK, Weight.BOLD, shows="title"),
        Label(place, Point(x1, y), _TITLE_MM, INK, Weight.BOLD, Align.RIGHT, shows="sheet"),
    ]
    for text, colour, weight in _lines(subject):
        y -= _STEP_MM
        marks.append(Label(shortened(text, x1 - x0, _TEXT_MM, weight), Point(x0, y), _TEXT_MM, colour, weight))
    return [*marks, Stroke((Point(x0, y0 + 1.0), Point(x1, y0 + 1.0)), 0.3)]


def _lines(subject: Subject) -> list[tuple[str, Colour, Weight]]:
    part = subject.flat.part
    face = f"{part.name}, {stock_line(subject.flat)}. Flat at true size, {face_words(subject.face)}."
    said = [(face, INK, Weight.BOLD), (_printing(subject), INK, Weight.PLAIN), (CAUTION, INK, Weight.PLAIN)]
    return [*said, (subject.notice, FAIL, Weight.BOLD)] if subject.notice else said


def _printing(subject: Subject) -> str:
    paper = subject.paper.said
    if subject.scale == TRUE:
        return f"Print at 100 %, not 'fit to page', on {paper}; then measure the four bars of every sheet."
    across, up = (plain(100 * s, 2) for s in subject.scale)
    return f"Corrected for a printer that prints {across} % across, {up} % up. The bars must now measure 100 mm, 4 in."
