"""The words of a template: how to print, join, fold and try it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from bracketgen.drawing.marks.plain_numbers import inches, plain
from bracketgen.drawing.one_to_one.card import CardFold
from bracketgen.drawing.one_to_one.page_head import CAUTION, TRUE, Subject
from bracketgen.drawing.one_to_one.plane_map import Face
from bracketgen.drawing.one_to_one.shape import shows_own_line
from bracketgen.drawing.one_to_one.words import fold_words
from bracketgen.drawing.paper.lettering import Weight, one_line
from bracketgen.drawing.paper.palette import FAIL, INK, WAY_LINE, Colour

#: Below this a card is called paper.
_PAPER_MM: Final = 0.3


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Some words that belong together."""

    text: str
    weight: Weight = Weight.PLAIN
    colour: Colour = INK


def notes(subject: Subject, sheets: int, folds: Sequence[CardFold], left_out: Sequence[str]) -> list[Paragraph]:
    """Everything that a person must know to use the template, in the order of the work."""
    said = [Paragraph(subject.notice, Weight.BOLD, FAIL)] if subject.notice else []
    said += [_head("Print"), *map(Paragraph, _printing(subject))]
    said += [_head("Cut"), *map(Paragraph, _cutting(subject, sheets))]
    if folds:
        said += [_head("Fold"), *_folding(subject, folds)]
    said += [_head("Try"), *map(Paragraph, _trying(subject))]
    if left_out:
        listed = "; ".join(left_out)
        said += [_head("No room on the sheets for"), Paragraph(listed)]
    cautions = [CAUTION, *(one_line(c) for c in subject.flat.part.cautions)]
    return [*said, _head("Beware"), *map(Paragraph, cautions)]


def _head(text: str) -> Paragraph:
    return Paragraph(text, Weight.BOLD)


def _printing(subject: Subject) -> list[str]:
    first = (
        f"Print all sheets on {subject.paper.said} at 100 % ('actual size'), never 'fit' or 'shrink'. The file asks "
        "for no scaling; many printers scale all the same."
    )
    if subject.scale != TRUE:
        across, up = (plain(100 * s, 2) for s in subject.scale)
        first = (
            f"These sheets are stretched for a printer that prints {across} % across and {up} % up the sheet. Print "
            "them with the same printer, paper and settings as the sheets that were measured."
        )
    then = "measure again on an uncorrected print" if subject.scale != TRUE else (
        "type the lengths of the two 100 mm bars, across first, as in --measured 97.0,98.5: that writes a corrected "
        "template"
    )  # fmt: skip
    return [
        first,
        f"Measure the four bars of every sheet with a steel rule, from tick to tick. If they are off, {then}.",
    ]


def _cutting(subject: Subject, sheets: int) -> list[str]:
    x0, y0, x1, y1 = subject.flat.bounds_mm
    wide, high = x1 - x0, y1 - y0
    size = f"{plain(wide, 1)} × {plain(high, 1)} mm ({inches(wide)} × {inches(high)} in)"
    said = []
    if sheets > 1:
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
    said.append(_flag_words(subject.face))
    return said


def _flag_words(face: Face) -> str:
    if face is Face.DESCRIBED:
        return (
            "The black flag has its square corner at the lower left when the described face looks at you. Draw it on "
            "the card's back mirrored, and on the metal as it is: it tells the faces apart."
        )
    return (
        "This is the BACK of the flat, mirrored: the described face lies underneath. The black flag has its square "
        "corner at the lower right here, and at the lower left on the described face."
    )


def _folding(subject: Subject, folds: Sequence[CardFold]) -> list[Paragraph]:
    said = [
        Paragraph(
            "Cut card through from the outside of the bend down to its last layer, and fold it there. Thin lines are "
            "where the metal's bend begins and ends. Where the cut is on the back, prick the fold's ends through."
        )
    ]
    said += [Paragraph(_turning(subject.face, f), colour=WAY_LINE[f.strip.bend.way]) for f in folds]
    alike: dict[str, list[str]] = {}
    for fold in folds:
        alike.setdefault(_in_card(fold), []).append(str(fold.number))
    return said + [Paragraph(f"Bend {', '.join(numbers)}: {words}") for words, numbers in alike.items()]


def _turning(face: Face, fold: CardFold) -> str:
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
    return exact + (_chosen(fold) if shows_own_line(fold) else other)


def _chosen(fold: CardFold) -> str:
    toward = "second" if fold.shift_mm > 0.0 else "first"
    near = "near to" if fold.short_mm > 0.0 else "far from"
    return (
        f" Your {plain(fold.card_mm, 2)} mm folds on the dotted line, {plain(abs(fold.shift_mm), 1)} mm from the "
        f"centre line toward the {toward}-named leg: the first stays true, holes of the second come "
        f"{plain(abs(fold.short_mm), 1)} mm too {near} the bend."
    )


def _trying(subject: Subject) -> list[str]:
    thickness = plain(subject.flat.part.stock.thickness_mm, 2)
    see = (
        "its bolts, washers, spanner and inner bend radius find room, that hoses and moving parts stay clear, and that "
        "each bend turns the way you need"
        if subject.flat.strips
        else "its bolts, washers and spanner find room, and that hoses and moving parts stay clear"
    )
    return [
        f"Metal is {thickness} mm thick and stiff: see that {see}.",
        "Offer it up with the right face to the vehicle before any metal is cut.",
    ]
