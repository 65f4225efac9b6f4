"""The words of a template: labels on its sheets, then the notes on how to print, join, fold and try it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Final

from bracketgen.bending.flat import Flat
from bracketgen.drawing.columns import Band, caution_bands, heading, paragraph
from bracketgen.drawing.marks.callouts import AIR_MM, UNSTRUCK_COST, Callout, Leader, Target, along, place_callout
from bracketgen.drawing.marks.flat_lines import FaceUp, PaperMap
from bracketgen.drawing.marks.free_room import FreeRoom
from bracketgen.drawing.marks.lettering import Weight, one_line
from bracketgen.drawing.marks.words import bend_label, numbered_strips, size_text
from bracketgen.drawing.sheet import FAIL, INK, WAY_LINE, Colour, Label, Mark, Stroke, box_of, clipped, padded, within
from bracketgen.drawing.template.card import CardFold
from bracketgen.drawing.template.sheets import TRUE, Flag, Template
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import midpoint
from bracketgen.part.part import Bend, Way
from bracketgen.standards.cautions import caution
from bracketgen.units import inches, plain

#: On every sheet, whatever the part is.
CAUTION: Final = caution("template")
_SIZE_MM: Final = 3.2
_BEND_MM: Final = 3.6
#: Letters of a bend that finds no room beside the outline.
_SMALLER_MM: Final = (3.1, 2.7)
_FACE_MM: Final = 4.2
_SHARES: Final = (0.5, 0.35, 0.65, 0.2, 0.8, 0.1, 0.9)


def face_words(face: FaceUp) -> str:
    """Which face looks at the reader."""
    return "THIS FACE UP" if face is FaceUp.DESCRIBED else "BACK FACE UP (MIRRORED)"


def fold_words(face: FaceUp, bend: Bend) -> str:
    """Which way the reader folds it, as the sheet lies before him."""
    toward = (bend.way is Way.UP) is (face is FaceUp.DESCRIBED)
    return "fold toward you" if toward else "fold away"


def sheet_words(
    flat: Flat, folds: Sequence[CardFold], flag: Flag | None, to_paper: PaperMap, window: Box, drawn: Sequence[Mark]
) -> tuple[list[Mark], list[str]]:
    """Every label of what a sheet shows, the pickiest first, and what those without room would have said.

    `drawn` is what lies there already.
    """
    room = FreeRoom(window)
    # Words and fills are never covered, lines only when nothing better is left.
    for mark in drawn:
        if isinstance(mark, Label):
            room.take(padded(mark.box, AIR_MM))
        elif isinstance(mark, Stroke):
            room.ink_line(mark.points)
        else:
            room.take(box_of(mark.rings[0]))
    wanted: list[Callout] = []
    if flag is not None and flag.fits(to_paper, window):
        target = Target(midpoint(*map(to_paper.point, flag.points[1:])), 0.8 * flag.foot_mm)
        wanted.append(Callout(face_words(to_paper.face), (target,), _FACE_MM, "face up", leader=Leader.WHEN_APART))
    wanted += _bends(flat, to_paper, window)
    wanted += _card(folds, to_paper, window)
    wanted += _holes(flat, to_paper, window)
    marks: list[Mark] = []
    left_out: list[str] = []
    for callout in wanted:
        placed = place_callout(room, callout)
        marks += placed or []
        if placed is None:
            left_out.append(callout.text)
    return marks, left_out


def _holes(flat: Flat, to_paper: PaperMap, window: Box) -> list[Callout]:
    made: list[Callout] = []
    for hole in flat.holes:
        centre = to_paper.point(hole.centre)
        if not within(centre, window):
            continue
        ring = to_paper.ring(hole.cut)
        radius = min(p.distance(centre) for p in ring)
        edge = () if hole.hole.shape.bore_mm is not None else ring
        target = Target(centre, radius, edge)
        shows = f"size of {hole.hole.id}"
        made.append(Callout(size_text(hole.hole), (target,), _SIZE_MM, shows, away_mm=radius + 4.0,
                            most_cost=UNSTRUCK_COST))  # fmt: skip
    return made


def _bends(flat: Flat, to_paper: PaperMap, window: Box) -> list[Callout]:
    made: list[Callout] = []
    for number, strip in numbered_strips(flat):
        text = f"{bend_label(number, strip.bend)}  {fold_words(to_paper.face, strip.bend)}"
        for ends in clipped(to_paper.edge(strip.centre_line), window):
            half = strip.metal.allowance_mm / 2
            call = along(text, ends, half, _BEND_MM, f"bend {number}", _SHARES)
            made.append(replace(call, colour=WAY_LINE[strip.bend.way], smaller_mm=_SMALLER_MM))
    return made


def _card(folds: Sequence[CardFold], to_paper: PaperMap, window: Box) -> list[Callout]:
    made: list[Callout] = []
    for fold in folds:
        for ends in clipped(to_paper.edge(fold.line), window) if fold.has_own_line else ():
            text = f"{plain(fold.card_mm, 1)} mm card folds here ({fold.number})"
            call = along(text, ends, 0.0, _SIZE_MM, f"card fold {fold.number}", _SHARES)
            made.append(replace(call, leader=Leader.ALWAYS, away_mm=6.0, smaller_mm=_SMALLER_MM))
    return made


# -- the notes

#: Letters of headings, as a share of those of the text.
_HEAD_SHARE: Final = 1.2
#: Below this a card is called paper.
_PAPER_MM: Final = 0.3


def notes(
    template: Template, folds: Sequence[CardFold], left_out: Sequence[str], width_mm: float, size_mm: float
) -> list[Band]:
    """Everything that a person must know to use the template, in the order of the work, in letters of that size."""

    def said(text: str, weight: Weight = Weight.PLAIN, colour: Colour = INK) -> Band:
        return paragraph(text, width_mm, weight, colour, "notes", size_mm)

    def chapter(title: str, texts: Iterable[str]) -> list[Band]:
        return [heading(title, width_mm, _HEAD_SHARE * size_mm, "notes"), *map(said, texts)]

    bands = [said(template.notice, Weight.BOLD, FAIL)] if template.notice else []
    # The head of every sheet says what a paper template proves.
    bands += caution_bands((one_line(c) for c in template.flat.part.cautions), width_mm)
    bands += [*chapter("Print", _printing(template)), *chapter("Cut", _cutting(template))]
    if folds:
        bands += chapter("Fold", [_CUT_CARD])
        bands += [said(_turning(template.face, f), colour=WAY_LINE[f.strip.bend.way]) for f in folds]
        bands += map(said, _in_cards(folds))
    bands += chapter("Try", _trying(template))
    if left_out:
        bands += chapter("No room on the sheets for", ["; ".join(left_out)])
    return bands


def _printing(template: Template) -> list[str]:
    first = (
        f"Print all sheets on {template.paper.words} at 100 % ('actual size'), never 'fit' or 'shrink'. The file asks "
        "for no scaling; many printers scale all the same."
    )
    if template.scale != TRUE:
        across, up = (plain(100 * s, 2) for s in template.scale)
        first = (
            f"These sheets are stretched for a printer that prints {across} % across and {up} % up the sheet. Print "
            "them with the same printer, paper and settings as the sheets that were measured."
        )
    then = "measure again on an uncorrected print" if template.scale != TRUE else (
        "type the lengths of the two 100 mm bars, across first, as in --measured 97.0,98.5: that writes a corrected "
        "template"
    )  # fmt: skip
    return [
        first,
        f"Measure the four bars of every sheet with a steel rule, from tick to tick. If they are off, {then}.",
    ]


def _cutting(template: Template) -> list[str]:
    x0, y0, x1, y1 = template.flat.bounds_mm
    wide, high = x1 - x0, y1 - y0
    size = f"{plain(wide, 1)} × {plain(high, 1)} mm ({inches(wide)} × {inches(high)} in)"
    said = []
    if len(template.tiles) > 1:
        said.append(
            "Cut one of two neighbouring sheets along the dashed line and lay it on the other so that crosses of the "
            f"same name cover each other, then tape. Joined, the flat must measure {size}."
        )
    else:
        said.append(f"The flat must measure {size}.")
    said.append(
        "Glue the paper on card, print in sight. Cut along the middle of the line. Prick through the cross-hairs to "
        "mark hole centres; the small crosses are the centres of a slot's round ends."
    )
    if template.face is FaceUp.DESCRIBED:
        said.append(
            "The black flag has its square corner at the lower left when the described face looks at you. Draw it on "
            "the card's back mirrored, and on the metal as it is: it tells the faces apart."
        )
    else:
        said.append(
            "This is the BACK of the flat, mirrored: the described face lies underneath. The black flag has its square "
            "corner at the lower right here, and at the lower left on the described face."
        )
    return said


_CUT_CARD: Final = (
    "Cut card through from the outside of the bend down to its last layer, and fold it there. Thin lines are where the "
    "metal's bend begins and ends. Where the cut is on the back, prick the fold's ends through."
)


def _in_cards(folds: Sequence[CardFold]) -> list[str]:
    """What card does to each bend, bends alike together."""
    alike: dict[str, list[str]] = {}
    for fold in folds:
        alike.setdefault(_in_card(fold), []).append(str(fold.number))
    return [f"Bend {', '.join(numbers)}: {words}" for words, numbers in alike.items()]


def _turning(face: FaceUp, fold: CardFold) -> str:
    """Which way and how far a bend turns, from which side its card is cut, and which leg is which."""
    bend = fold.strip.bend
    words = fold_words(face, bend)
    cut = "on the back" if words == "fold toward you" else "on the print"
    legs = (
        f"{plain(bend.turn_deg)}° from flat ({plain(180 - bend.turn_deg)}° between '{bend.parent}' and '{bend.child}')"
    )
    return f"{fold.number}: {words}, {legs}; cut {cut}."


def _in_card(fold: CardFold) -> str:
    """Which card gives every outer face and hole its place, and what another card does."""
    best = "paper alone" if fold.best_card_mm < _PAPER_MM else f"card {plain(fold.best_card_mm, 1)} mm thick"
    exact = f"{best}, folded on the centre line, has all its outer faces and holes where the metal has them."
    shift = plain(fold.shift_per_mm, 1), plain(2 * fold.shift_per_mm, 1)
    other = (
        f" For each mm that card is thinner, fold {shift[0]} mm farther from the first-named leg: that leg stays "
        f"true, holes of the other come {shift[1]} mm too near the bend. Thicker card: the other way."
    )
    return exact + (_chosen(fold) if fold.has_own_line else other)


def _chosen(fold: CardFold) -> str:
    toward = "second" if fold.shift_mm > 0.0 else "first"
    near = "near to" if fold.short_mm > 0.0 else "far from"
    return (
        f" Your {plain(fold.card_mm, 2)} mm folds on the dotted line, {plain(abs(fold.shift_mm), 1)} mm from the "
        f"centre line toward the {toward}-named leg: the first stays true, holes of the second come "
        f"{plain(abs(fold.short_mm), 1)} mm too {near} the bend."
    )


def _trying(template: Template) -> list[str]:
    thickness = plain(template.flat.part.stock.thickness_mm, 2)
    see = (
        "its bolts, washers, spanner and inner bend radius find room, that hoses and moving parts stay clear, and that "
        "each bend turns the way you need"
        if template.flat.strips
        else "its bolts, washers and spanner find room, and that hoses and moving parts stay clear"
    )
    return [
        f"Metal is {thickness} mm thick and stiff: see that {see}.",
        "Offer it up with the right face to the vehicle before any metal is cut.",
    ]
