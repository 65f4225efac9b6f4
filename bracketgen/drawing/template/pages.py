"""A paper template of the flat at true size: cut it out, fold it, try it on the vehicle before any metal is cut."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from bracketgen.bending.flat import Flat
from bracketgen.bending.fold import Folded
from bracketgen.drawing.marks.free_room import FreeRoom, Near
from bracketgen.drawing.marks.lettering import (
    ASCENT,
    DESCENT,
    LEADING,
    Weight,
    one_line,
    shortened,
    text_width_mm,
    wrapped,
)
from bracketgen.drawing.paper_size import Paper
from bracketgen.drawing.picture.folded_view import folded_view
from bracketgen.drawing.picture.head_and_foot import stock_line
from bracketgen.drawing.sheet import (
    FAIL,
    FAINT,
    INK,
    WHITE,
    Align,
    Label,
    Mark,
    Sheet,
    Stroke,
    border,
    level_label,
)
from bracketgen.drawing.template.card import CardFold, card_folds
from bracketgen.drawing.template.marks import LEAST_SCALE, MOST_SCALE, Flag, bars, flag_of, joint_marks, shape_marks
from bracketgen.drawing.template.tiling import (
    TRUE,
    FaceUp,
    PageAreas,
    PlaneMap,
    Scale,
    Seam,
    Template,
    Tile,
    Tiling,
    seams,
    seen_box,
    tiling,
)
from bracketgen.drawing.template.words import CAUTION, Paragraph, face_words, notes, sheet_words
from bracketgen.geometry.contour import union_bounds
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point
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
    template = Template(flat, face, paper, correction, notice)
    spread = tiling(flat, face, paper, correction)
    folds = card_folds(flat, card_mm)
    joined = seams(flat, spread)
    flag = flag_of(flat, [seen_box(face, seam.both) for seam in joined])
    drawn = [_sheet(template, spread, tile, joined, folds, flag) for tile in spread.tiles]
    left_out = sorted({text for _, texts in drawn for text in texts})
    said = notes(template, len(drawn), folds, left_out)
    return (*notes_pages(template, folded, spread, said), *(sheet for sheet, _ in drawn))


def _sheet(
    template: Template, spread: Tiling, tile: Tile, joined: Sequence[Seam], folds: Sequence[CardFold], flag: Flag | None
) -> tuple[Sheet, list[str]]:
    """One sheet of the flat, and the words that found no room on it."""
    layout, to_paper = spread.layout, spread.map_of(tile)
    window = layout.window
    count = len(spread.tiles)
    where = f": row {tile.row}, column {tile.column}" if count > 1 else ""
    marks = [*page_head(template, layout, f"sheet {tile.number} of {count}{where}"), *bars(layout, template.scale)]
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


def page_head(template: Template, layout: PageAreas, place: str) -> list[Mark]:
    """Title and `place` (such as 'sheet 2 of 3'), three or four lines of small words, a rule."""
    x0, y0, x1, y1 = layout.head
    part = template.flat.part
    y = y1 - _TITLE_MM
    right = text_width_mm(place, _TITLE_MM, Weight.BOLD)
    title = shortened(one_line(part.title or part.name), x1 - x0 - right - 6.0, _TITLE_MM, Weight.BOLD)
    marks: list[Mark] = [
        Label(title, Point(x0, y), _TITLE_MM, INK, Weight.BOLD, shows="title"),
        Label(place, Point(x1, y), _TITLE_MM, INK, Weight.BOLD, Align.RIGHT, shows="sheet"),
    ]
    what = f"{part.name}, {stock_line(template.flat)}. Flat at true size, {face_words(template.face)}."
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


#: Letter sizes, the smaller one where it saves a sheet; headings are larger by a share.
_TEXT_MM: Final = (3.1, 2.75)
_HEAD_SHARE: Final = 1.2
_GAP_MM: Final = 1.3
#: Share of the width that the words take; the pictures have the rest.
_WORDS_SHARE: Final = 0.58
_BETWEEN_MM: Final = 6.0
#: From the words of the bars that stand up to the words of the notes.
_INDENT_MM: Final = 4.0
_NUMBER_MM: Final = 4.0

Line = tuple[Label, float]


def notes_pages(template: Template, folded: Folded, tiling: Tiling, said: Sequence[Paragraph]) -> list[Sheet]:
    """As many sheets as the words need; the pictures stand on the first."""
    layout = tiling.layout
    x0, y0, x1, y1 = layout.window
    x0 += _INDENT_MM
    split = x0 + (x1 - x0) * _WORDS_SHARE
    tries = [_columns(said, split - x0 - _BETWEEN_MM, y1 - y0, size) for size in _TEXT_MM]
    columns = min(tries, key=len)
    sheets = []
    for i, lines in enumerate(columns):
        place = "notes" if len(columns) == 1 else f"notes {i + 1} of {len(columns)}"
        marks: list[Mark] = [*page_head(template, layout, place), *bars(layout, template.scale)]
        y = y1
        for label, step in lines:
            y -= step
            marks.append(replace(label, at=Point(x0, y + DESCENT * label.size_mm)))
        if i == 0:
            middle = (y0 + y1) / 2
            marks += _plan(template, tiling, (split, middle + 4.0, x1, y1))
            marks += folded_view(folded, (split, y0, x1, middle - 4.0))
        sheets.append(Sheet(layout.width_mm, layout.height_mm, tuple(marks), WHITE))
    return sheets


def _columns(said: Sequence[Paragraph], width: float, height: float, size: float) -> list[list[Line]]:
    """The words in lines, a column a sheet; a heading is never the last line of a column."""
    columns: list[list[Line]] = [[]]
    used = 0.0
    for i, paragraph in enumerate(said):
        lines = _lines(paragraph, width, size)
        need = sum(step for _, step in lines) + (3 * size * LEADING if paragraph.weight is Weight.BOLD else 0.0)
        if used + need > height and columns[-1]:
            columns.append([])
            used = 0.0
        gap = 2 * _GAP_MM if paragraph.weight is Weight.BOLD and i and columns[-1] else 0.0
        lines[0] = (lines[0][0], lines[0][1] + gap)
        columns[-1] += lines
        used += sum(step for _, step in lines)
    return columns


def _lines(paragraph: Paragraph, width: float, text_mm: float) -> list[Line]:
    """Labels without a place, and how far each goes down from the one before."""
    size = text_mm * _HEAD_SHARE if paragraph.weight is Weight.BOLD else text_mm
    texts = wrapped(paragraph.text, width, size, paragraph.weight)
    labels = [Label(t, Point(0.0, 0.0), size, paragraph.colour, paragraph.weight, shows="notes") for t in texts]
    return [(label, size * LEADING + (_GAP_MM if i == 0 else 0.0)) for i, label in enumerate(labels)]


def _plan(template: Template, tiling: Tiling, box: Box) -> list[Mark]:
    """The flat small, under the windows of the sheets with their numbers."""
    head = Label("SHEETS", Point(box[0], box[3] - 4.6), 4.0, INK, Weight.BOLD, shows="plan")
    shown = union_bounds([seen_box(template.face, template.flat.bounds_mm), *(t.shows for t in tiling.tiles)])
    room = (box[2] - box[0] - 1.0, box[3] - box[1] - 8.0)
    scale = min(room[0] / (shown[2] - shown[0]), room[1] / (shown[3] - shown[1]))
    high = (shown[3] - shown[1]) * scale
    at = Point(box[0] + 0.5, box[3] - 7.0 - high)
    corner = Point(shown[0], shown[1])
    to_paper = PlaneMap(template.face, corner, at, (scale, scale))
    marks: list[Mark] = [head]
    for cut in (template.flat.outline, *template.flat.openings, *(h.cut for h in template.flat.holes)):
        marks.append(Stroke(to_paper.ring(cut), 0.25, INK, shows="plan"))
    windows = []
    for tile in tiling.tiles:
        a, b = (Point(x, y).minus(corner).scaled(scale).plus(at) for x, y in (tile.shows[:2], tile.shows[2:]))
        windows.append((a.x, a.y, b.x, b.y))
    marks += [replace(border(w, 0.2, FAINT, "plan"), dash_mm=(1.5, 1.0)) for w in windows]
    # A sheet that is alone needs no number.
    return [*marks, *(_numbers([t.number for t in tiling.tiles], windows, marks, box) if len(windows) > 1 else ())]


def _numbers(names: Sequence[int], windows: Sequence[Box], drawn: Sequence[Mark], area: Box) -> list[Mark]:
    """The number of each sheet in its window, as near to the middle as the part's lines leave room."""
    room = FreeRoom(area)
    for mark in drawn:
        if isinstance(mark, Stroke):
            room.ink_line(mark.points)
    marks: list[Mark] = []
    for name, (x0, y0, x1, y1) in zip(names, windows, strict=True):
        size = min(_NUMBER_MM, 0.3 * (x1 - x0), 0.5 * (y1 - y0))
        wide, high = text_width_mm(str(name), size, Weight.BOLD), (ASCENT + DESCENT) * size
        middle = Point((x0 + x1) / 2, (y0 + y1) / 2)
        spots = room.spots(wide, high, [Near(middle)])
        inside = [s.box for s in spots if s.box[0] >= x0 and s.box[1] >= y0 and s.box[2] <= x1 and s.box[3] <= y1]
        where = inside[0] if inside else (middle.x - wide / 2, middle.y - high / 2, middle.x, middle.y)
        room.take(where)
        marks.append(level_label(str(name), where, size, FAINT, Weight.BOLD, "plan"))
    return marks
