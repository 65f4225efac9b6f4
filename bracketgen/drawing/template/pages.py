"""A paper template of the flat at true size: cut it out, fold it, try it on the vehicle before any metal is cut."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Final

from bracketgen.bending.flat import Flat
from bracketgen.bending.fold import Folded
from bracketgen.drawing.columns import Band, pour
from bracketgen.drawing.marks.callouts import ink_marks, place_inside
from bracketgen.drawing.marks.flat_lines import FaceUp, FlatLines, PaperMap
from bracketgen.drawing.marks.free_room import FreeRoom
from bracketgen.drawing.marks.lettering import (
    Weight,
    one_line,
    shortened,
    text_width_mm,
)
from bracketgen.drawing.picture.folded_view import folded_view
from bracketgen.drawing.picture.head_and_foot import VIEW_TITLE_MM, stock_line, view_title
from bracketgen.drawing.sheet import (
    FAIL,
    FAINT,
    INK,
    WHITE,
    Align,
    Label,
    LineType,
    Mark,
    Paper,
    Sheet,
    Stroke,
    border,
)
from bracketgen.drawing.template.card import CardFold, card_folds
from bracketgen.drawing.template.sheets import (
    LEAST_SCALE,
    MOST_SCALE,
    TRUE,
    Flag,
    Scale,
    Seam,
    Template,
    Tile,
    bars,
    flag_of,
    joint_marks,
    lower_left,
    seams,
    shape_marks,
    tiling,
)
from bracketgen.drawing.template.words import CAUTION, face_words, notes, sheet_words
from bracketgen.geometry.contour import union_bounds
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point
from bracketgen.part.mark import mark_words
from bracketgen.units import plain


def template_pages(
    flat: Flat,
    folded: Folded,
    paper: Paper,
    correction: Scale = TRUE,
    *,
    face: FaceUp = FaceUp.DESCRIBED,
    card_mm: float | None = None,
    notice: str = "",
) -> tuple[Sheet, ...]:
    """Notes first, then the sheets of the flat at 1:1, row by row from the upper left.

    `correction` is printed length over true length, across and up the sheet as it lies (0.97 for a 100 mm bar that
    came out at 97 mm); every length on the paper is divided by it. `face` is the one that looks at the reader: the back
    is mirrored and says so. `card_mm` is the card that the user has (None: the card that suits each bend is named).
    `notice` stands on every sheet, such as a failed rule. Raises ValueError for a correction outside LEAST_SCALE to
    MOST_SCALE.
    """
    if not all(LEAST_SCALE <= s <= MOST_SCALE for s in correction):
        raise ValueError(f"a printer is corrected between {LEAST_SCALE} and {MOST_SCALE}")
    template = tiling(flat, face, paper, correction, notice)
    folds = card_folds(flat, card_mm)
    joined = seams(template)
    flag = flag_of(flat, [seam.both for seam in joined])
    drawn = [_sheet(template, tile, joined, folds, flag) for tile in template.tiles]
    left_out = sorted({text for _, texts in drawn for text in texts})

    def said(width: float, size: float) -> list[Band]:
        return notes(template, folds, left_out, width, size)

    return (*_notes_pages(template, folded, said), *(sheet for sheet, _ in drawn))


def _sheet(
    template: Template, tile: Tile, joined: Sequence[Seam], folds: Sequence[CardFold], flag: Flag | None
) -> tuple[Sheet, list[str]]:
    """One sheet of the flat, and the words that found no room on it."""
    layout, to_paper = template.layout, template.map_of(tile)
    window = layout.window
    count = len(template.tiles)
    where = f": row {tile.row}, column {tile.column}" if count > 1 else ""
    marks = [*page_head(template, f"sheet {tile.number} of {count}{where}"), *bars(layout, template.scale)]
    shape = shape_marks(template.flat, folds, to_paper, window)
    marks += [*joint_marks(tile, joined, to_paper, window, shape), *shape]
    if flag is not None and flag.fits(to_paper, window):
        marks.append(flag.mark(to_paper))
    labels, left_out = sheet_words(template.flat, folds, flag, to_paper, window, marks)
    return Sheet(layout.width_mm, layout.height_mm, (*marks, *labels), WHITE), left_out


# -- the head of every sheet: what it is, which sheet, which face, what to beware of


_TITLE_MM: Final = 4.4
_HEAD_TEXT_MM: Final = 2.9
_STEP_MM: Final = 3.7


def page_head(template: Template, place: str) -> list[Mark]:
    """Title and `place` (such as 'sheet 2 of 3'), three or four lines of small words, a rule."""
    x0, y0, x1, y1 = template.layout.head
    part = template.flat.part
    y = y1 - _TITLE_MM
    right = text_width_mm(place, _TITLE_MM, Weight.BOLD)
    title = shortened(one_line(part.title or part.name), x1 - x0 - right - 6.0, _TITLE_MM, Weight.BOLD)
    marks: list[Mark] = [
        Label(title, Point(x0, y), _TITLE_MM, INK, Weight.BOLD, shows="title"),
        Label(place, Point(x1, y), _TITLE_MM, INK, Weight.BOLD, Align.RIGHT, shows="sheet"),
    ]
    marked = mark_words(part.mark)
    what = f"{part.name}, {stock_line(template.flat)}{', ' * bool(marked)}{marked}."
    what += f" Flat at true size, {face_words(template.face)}."
    said = [(what, INK, Weight.BOLD), (_printing(template), INK, Weight.PLAIN), (CAUTION, INK, Weight.PLAIN)]
    said += [(template.notice, FAIL, Weight.BOLD)] if template.notice else []
    for text, colour, weight in said:
        y -= _STEP_MM
        fitted = shortened(text, x1 - x0, _HEAD_TEXT_MM, weight)
        marks.append(Label(fitted, Point(x0, y), _HEAD_TEXT_MM, colour, weight))
    return [*marks, Stroke((Point(x0, y0 + 1.0), Point(x1, y0 + 1.0)), 0.3)]


def _printing(template: Template) -> str:
    paper = template.paper.words
    if template.scale == TRUE:
        return f"Print at 100 %, not 'fit to page', on {paper}; then measure the four bars of every sheet."
    across, up = (plain(100 * s, 2) for s in template.scale)
    return f"Corrected for a printer that prints {across} % across, {up} % up. The bars must now measure 100 mm, 4 in."


# -- the first sheets: the words, the plan of all sheets, the folded part


#: Letter sizes, the smaller one where it saves a sheet.
_TEXT_MM: Final = (3.1, 2.75)
#: Share of the width that the words take; the pictures have the rest.
_WORDS_SHARE: Final = 0.58
_BETWEEN_MM: Final = 6.0
#: From the words of the bars that stand up to the words of the notes.
_INDENT_MM: Final = 4.0
_NUMBER_MM: Final = 4.0
_PLAN: Final = FlatLines(outline=LineType(0.25), hole=LineType(0.25))


def _notes_pages(template: Template, folded: Folded, said: Callable[[float, float], list[Band]]) -> list[Sheet]:
    """As many sheets as the words need; the pictures stand on the first. `said` makes words of a width and a size."""
    layout = template.layout
    x0, y0, x1, y1 = layout.window
    x0 += _INDENT_MM
    split = x0 + (x1 - x0) * _WORDS_SHARE
    column = (x0, y0, split - _BETWEEN_MM, y1)
    columns = min((_poured(said(column[2] - x0, size), column) for size in _TEXT_MM), key=len)
    sheets = []
    for i, words in enumerate(columns):
        place = "notes" if len(columns) == 1 else f"notes {i + 1} of {len(columns)}"
        marks = [*page_head(template, place), *bars(layout, template.scale), *words]
        if i == 0:
            middle = (y0 + y1) / 2
            marks += _plan(template, (split, middle + 4.0, x1, y1))
            marks += folded_view(folded, (split, y0, x1, middle - 4.0))
        sheets.append(Sheet(layout.width_mm, layout.height_mm, tuple(marks), WHITE))
    return sheets


def _poured(bands: Sequence[Band], column: Box) -> list[list[Mark]]:
    """The words of each sheet."""
    made: list[list[Mark]] = []
    while bands:
        marks, bands = pour(bands, [column])
        made.append(marks)
    return made


def _plan(template: Template, box: Box) -> list[Mark]:
    """The flat small, under the windows of the sheets with their numbers."""
    head = view_title("SHEETS", box, "plan")
    shown = union_bounds([template.flat.bounds_mm, *(t.shows for t in template.tiles)])
    room = (box[2] - box[0] - 1.0, box[3] - box[1] - 8.0)
    scale = min(room[0] / (shown[2] - shown[0]), room[1] / (shown[3] - shown[1]))
    at = Point(box[0] + 0.5, box[3] - VIEW_TITLE_MM - (shown[3] - shown[1]) * scale)
    to_paper = PaperMap.putting(lower_left(template.face, shown), at, (scale, scale), template.face)
    small = [replace(line, shows="plan") for line in _PLAN.drawn(template.flat, to_paper)]
    windows = [to_paper.box(tile.shows) for tile in template.tiles]
    marks: list[Mark] = [head, *small, *(replace(border(w, 0.2, FAINT, "plan"), dash_mm=(1.5, 1.0)) for w in windows)]
    # A sheet that is alone needs no number.
    return [*marks, *(_numbers([t.number for t in template.tiles], windows, marks, box) if len(windows) > 1 else ())]


def _numbers(names: Sequence[int], windows: Sequence[Box], drawn: Sequence[Mark], area: Box) -> list[Mark]:
    """The number of each sheet in its window, as near to the middle as the part's lines leave room."""
    room = FreeRoom(area)
    ink_marks(room, drawn)
    marks: list[Mark] = []
    for name, (x0, y0, x1, y1) in zip(names, windows, strict=True):
        size = min(_NUMBER_MM, 0.3 * (x1 - x0), 0.5 * (y1 - y0))
        marks.append(place_inside(room, str(name), (x0, y0, x1, y1), size, Weight.BOLD, "plan"))
    return marks
