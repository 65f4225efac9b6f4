"""How much paper a text takes, and how it is broken into lines.

Sizes are letter sizes (em) in mm. The font is DejaVu Sans, plain or bold.
"""

from __future__ import annotations

from enum import StrEnum
from functools import cache
from typing import Final

from bracketgen.drawing.paper import letter_widths

#: Reach above and below the base line as shares of the letter size: brackets and capitals, g and commas.
#: Source: glyph bounds of DejaVu Sans 2.35, rounded up (a capital with an accent reaches higher).
ASCENT: Final = 0.78
DESCENT: Final = 0.24
#: From base line to base line, as a share of the letter size (common practice, no source).
LEADING: Final = 1.32
#: Width of a letter that is not in the table, as a share of the size: no letter of a Latin, Greek or Cyrillic
#: alphabet is much wider; beyond U+2E80 (East Asian signs, pictures) letters fill a square.
_UNKNOWN_UNITS: Final = 1900
_SQUARE_UNITS: Final = 2600
_FIRST_SQUARE: Final = 0x2E80


class Weight(StrEnum):
    """How strong the letters are."""

    PLAIN = "plain"
    BOLD = "bold"


@cache
def _units(weight: Weight) -> dict[str, int]:
    text = letter_widths.BOLD if weight is Weight.BOLD else letter_widths.REGULAR
    codes = [*range(0x20, 0x7F), *range(0xA0, 0x180), *map(ord, letter_widths.SIGNS)]
    return {chr(c): int(w) for c, w in zip(codes, text.split(), strict=True)}


def text_width_mm(text: str, size_mm: float, weight: Weight = Weight.PLAIN) -> float:
    """Width of a text in one line, mm; good to 2 % for the letters of the table, never too small for others."""
    table = _units(weight)
    units = sum(table.get(c) or (_SQUARE_UNITS if ord(c) >= _FIRST_SQUARE else _UNKNOWN_UNITS) for c in text)
    return units / letter_widths.UNITS_PER_EM * size_mm


def one_line(text: str) -> str:
    """The text with line breaks, tabs, control signs and runs of blanks as single blanks."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())


def wrapped(text: str, width_mm: float, size_mm: float, weight: Weight = Weight.PLAIN) -> list[str]:
    """The text in lines no wider than `width_mm`; a word longer than a line is broken, nothing is left out."""
    lines: list[str] = []
    line = ""
    for word in one_line(text).split(" "):
        longer = f"{line} {word}" if line else word
        if text_width_mm(longer, size_mm, weight) <= width_mm:
            line = longer
            continue
        if line:
            lines.append(line)
        *whole, line = _broken(word, width_mm, size_mm, weight)
        lines.extend(whole)
    return [*lines, line] if line else lines


def _broken(word: str, width_mm: float, size_mm: float, weight: Weight) -> list[str]:
    """A word in pieces that fit, at least one letter each."""
    pieces: list[str] = []
    piece = ""
    for letter in word:
        if piece and text_width_mm(piece + letter, size_mm, weight) > width_mm:
            pieces.append(piece)
            piece = ""
        piece += letter
    return [*pieces, piece]


def shortened(text: str, width_mm: float, size_mm: float, weight: Weight = Weight.PLAIN) -> str:
    """The text, or as much of it as fits with '…' behind."""
    if text_width_mm(text, size_mm, weight) <= width_mm:
        return text
    while text and text_width_mm(text + "…", size_mm, weight) > width_mm:
        text = text[:-1]
    return text.rstrip() + "…"
