"""Folding a template out of card: which card, where it folds, and what is left wrong.

Card is cut through from the outside of the bend to its last layer and folds about that layer, which lies on the inside.
Seen end-on, the outer faces of two card legs then meet c tan(turn / 2) beyond the fold, those of metal (R + t)
tan(turn / 2) beyond its tangent line. Card of the thickness c* = R + t - allowance / (2 tan(turn / 2)) has all outer
faces and holes where the metal has them when it folds on the bend's centre line; in thinner card the fold moves away
from the parent by (c* - c) tan(turn / 2), which leaves the parent's leg right and the child's too short by twice that.
Source: plane geometry.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from bracketgen.bending.flat import Flat, Strip
from bracketgen.drawing.marks.words import numbered_strips
from bracketgen.geometry.edge import Line

#: Width of a bend's line on the paper.
BEND_LINE_MM: Final = 0.3


@dataclass(frozen=True, slots=True)
class CardFold:
    """One bend in card, mm.

    `from_parent_mm` is where card of `card_mm` folds, counted from the parent's tangent line in the flat; then the
    holes of the child come `short_mm` too near the bend (negative: too far).
    """

    number: int
    strip: Strip
    best_card_mm: float
    card_mm: float
    from_parent_mm: float

    @property
    def shift_mm(self) -> float:
        """From the centre line toward the child."""
        return self.from_parent_mm - self.strip.metal.allowance_mm / 2

    @property
    def short_mm(self) -> float:
        """What the child's leg lacks."""
        return 2 * self.shift_mm

    @property
    def shift_per_mm(self) -> float:
        """How far the fold moves for each mm that card is thinner."""
        return _tan_half(self.strip)

    @property
    def has_own_line(self) -> bool:
        """Whether card folds visibly beside the centre line: by a line's width."""
        return abs(self.shift_mm) >= BEND_LINE_MM

    @property
    def line(self) -> Line:
        """Where it folds, in the flat."""
        return self.strip.line_at(self.from_parent_mm)


def card_folds(flat: Flat, card_mm: float | None = None) -> list[CardFold]:
    """Every bend of the part in card of one thickness; without one, in the card that suits each bend best."""
    made: list[CardFold] = []
    for number, strip in numbered_strips(flat):
        sharp = strip.bend.inside_radius_mm + flat.part.stock.thickness_mm
        best = sharp - strip.metal.allowance_mm / (2 * _tan_half(strip))
        card = best if card_mm is None else card_mm
        made.append(CardFold(number, strip, best, card, (sharp - card) * _tan_half(strip)))
    return made


def _tan_half(strip: Strip) -> float:
    return math.tan(math.radians(strip.bend.turn_deg) / 2)
