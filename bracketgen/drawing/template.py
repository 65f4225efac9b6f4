"""A paper template of the flat at true size: cut it out, fold it, try it on the vehicle before any metal is cut."""

from __future__ import annotations

from collections.abc import Sequence

from bracketgen.bending.flat import Flat
from bracketgen.bending.fold import Folded
from bracketgen.drawing.one_to_one.bars import bars
from bracketgen.drawing.one_to_one.card import CardFold, card_folds
from bracketgen.drawing.one_to_one.flag import Flag, flag_of
from bracketgen.drawing.one_to_one.joints import joint_marks
from bracketgen.drawing.one_to_one.notes import notes
from bracketgen.drawing.one_to_one.notes_pages import notes_pages
from bracketgen.drawing.one_to_one.page_head import TRUE, Subject, page_head
from bracketgen.drawing.one_to_one.paper_size import PaperSize
from bracketgen.drawing.one_to_one.plane_map import Face, seen_box
from bracketgen.drawing.one_to_one.printed import LEAST_SCALE, MOST_SCALE
from bracketgen.drawing.one_to_one.shape import shape_marks
from bracketgen.drawing.one_to_one.tiles import Scale, Seam, Tile, Tiling, seams, tiling
from bracketgen.drawing.one_to_one.words import sheet_words
from bracketgen.drawing.paper.palette import WHITE
from bracketgen.drawing.sheet import Mark, Sheet

__all__ = ["TRUE", "Face", "PaperSize", "Scale", "template_pages"]


def template_pages(
    flat: Flat,
    folded: Folded,
    paper: PaperSize,
    correction: Scale = TRUE,
    *,
    face: Face = Face.DESCRIBED,
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
    subject = Subject(flat, face, paper, correction, notice)
    spread = tiling(flat, face, paper, correction)
    folds = card_folds(flat, card_mm)
    joined = seams(flat, spread)
    flag = flag_of(flat, [seen_box(face, seam.both) for seam in joined])
    drawn = [_sheet(subject, spread, tile, joined, folds, flag) for tile in spread.tiles]
    left_out = sorted({text for _, texts in drawn for text in texts})
    said = notes(subject, len(drawn), folds, left_out)
    return (*notes_pages(subject, folded, spread, said), *(sheet for sheet, _ in drawn))


def _sheet(
    subject: Subject, spread: Tiling, tile: Tile, joined: Sequence[Seam], folds: Sequence[CardFold], flag: Flag | None
) -> tuple[Sheet, tuple[str, ...]]:
    """One sheet of the flat, and the words that found no room on it."""
    layout, to_paper = spread.layout, spread.map_of(tile)
    window = layout.window
    marks: list[Mark] = [*page_head(subject, layout, _place(spread, tile)), *bars(layout, subject.scale)]
    shape = shape_marks(subject.flat, folds, to_paper, window)
    marks += [*joint_marks(tile, joined, to_paper, window, shape), *shape]
    if flag is not None and flag.fits(to_paper, window):
        marks.append(flag.mark(to_paper))
    worded = sheet_words(subject.flat, folds, flag, to_paper, window, marks)
    return Sheet(layout.width_mm, layout.height_mm, (*marks, *worded.marks), WHITE), worded.left_out


def _place(spread: Tiling, tile: Tile) -> str:
    count = len(spread.tiles)
    if count == 1:
        return "sheet 1 of 1"
    return f"sheet {tile.number} of {count}: row {tile.row}, column {tile.column}"
