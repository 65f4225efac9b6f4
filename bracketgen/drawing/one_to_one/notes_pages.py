"""The first sheets of a template: its words, the plan of its sheets, the folded part."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from bracketgen.bending.fold import Folded
from bracketgen.drawing.one_to_one.bars import bars
from bracketgen.drawing.one_to_one.notes import Paragraph
from bracketgen.drawing.one_to_one.page_head import Subject, page_head
from bracketgen.drawing.one_to_one.plane_map import PlaneMap, seen_box
from bracketgen.drawing.one_to_one.tiles import Tiling
from bracketgen.drawing.paper.free_room import FreeRoom, Near
from bracketgen.drawing.paper.lettering import ASCENT, DESCENT, LEADING, Weight, text_width_mm, wrapped
from bracketgen.drawing.paper.palette import FAINT, INK, WHITE
from bracketgen.drawing.picture.folded_view import folded_view
from bracketgen.drawing.sheet import Label, Mark, Sheet, Stroke, level_label
from bracketgen.geometry.contour import union_bounds
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point

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


def notes_pages(subject: Subject, folded: Folded, tiling: Tiling, said: Sequence[Paragraph]) -> list[Sheet]:
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
        marks: list[Mark] = [*page_head(subject, layout, place), *bars(layout, subject.scale)]
        marks += _set(lines, Point(x0, y1))
        if i == 0:
            marks += _pictures(subject, folded, tiling, (split, y0, x1, y1))
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


def _set(lines: Sequence[Line], corner: Point) -> list[Label]:
    made, y = [], corner.y
    for label, step in lines:
        y -= step
        at = Point(corner.x, y + DESCENT * label.size_mm)
        made.append(Label(label.text, at, label.size_mm, label.colour, label.weight, shows=label.shows))
    return made


def _pictures(subject: Subject, folded: Folded, tiling: Tiling, box: Box) -> list[Mark]:
    """The plan of the sheets above the folded part."""
    x0, y0, x1, y1 = box
    middle = (y0 + y1) / 2
    return [*_plan(subject, tiling, (x0, middle + 4.0, x1, y1)), *folded_view(folded, (x0, y0, x1, middle - 4.0))]


def _plan(subject: Subject, tiling: Tiling, box: Box) -> list[Mark]:
    """The flat small, under the windows of the sheets with their numbers."""
    head = Label("SHEETS", Point(box[0], box[3] - 4.6), 4.0, INK, Weight.BOLD, shows="plan")
    shown = union_bounds([seen_box(subject.face, subject.flat.bounds_mm), *(t.shows for t in tiling.tiles)])
    room = (box[2] - box[0] - 1.0, box[3] - box[1] - 8.0)
    scale = min(room[0] / (shown[2] - shown[0]), room[1] / (shown[3] - shown[1]))
    high = (shown[3] - shown[1]) * scale
    at = Point(box[0] + 0.5, box[3] - 7.0 - high)
    to_paper = PlaneMap(subject.face, Point(shown[0], shown[1]), at, (scale, scale))
    marks: list[Mark] = [head]
    for cut in (subject.flat.outline, *subject.flat.openings, *(h.cut for h in subject.flat.holes)):
        marks.append(Stroke(to_paper.ring(cut), 0.25, INK, shows="plan"))
    windows = [_window(tile.shows, Point(shown[0], shown[1]), scale, at) for tile in tiling.tiles]
    marks += [Stroke(tuple(_corners(w)), 0.2, FAINT, (1.5, 1.0), "plan") for w in windows]
    # A sheet that is alone needs no number.
    return [*marks, *(_numbers([t.number for t in tiling.tiles], windows, marks, box) if len(windows) > 1 else ())]


def _window(seen: Box, origin: Point, scale: float, at: Point) -> Box:
    """Where a sheet's window lies on the plan."""
    a, b = (Point(x, y).minus(origin).scaled(scale).plus(at) for x, y in (seen[:2], seen[2:]))
    return (a.x, a.y, b.x, b.y)


def _corners(box: Box) -> list[Point]:
    x0, y0, x1, y1 = box
    return [Point(x0, y0), Point(x1, y0), Point(x1, y1), Point(x0, y1), Point(x0, y0)]


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
