"""The letters of all papers: how much room a text takes, how it is broken into lines, what can't be drawn.

The font is DejaVu Sans, plain or bold, from the files that come with matplotlib. Sizes are letter sizes (em) in mm.
Letters stand at their own widths beside each other, without kerning, on the screen as on paper.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from enum import StrEnum
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Final

from bracketgen.findings import Finding, Level

if TYPE_CHECKING:
    from reportlab.pdfbase.ttfonts import TTFont

#: Reach above and below the base line as shares of the letter size: brackets and capitals, g and commas.
#: Source: glyph bounds of DejaVu Sans 2.35, rounded up (a capital with an accent reaches higher).
ASCENT: Final = 0.78
DESCENT: Final = 0.24
#: From base line to base line, as a share of the letter size (common practice, no source).
LEADING: Final = 1.32
#: What the notes about letters that the font lacks are called, as rules are by their ids.
LETTERS: Final = "letters"
#: What is drawn for a letter that the font lacks (own choice).
STAND_IN: Final = "?"


class Weight(StrEnum):
    """How strong the letters are."""

    PLAIN = "plain"
    BOLD = "bold"


class FontMissing(RuntimeError):
    """The font files that come with matplotlib are not where they belong."""


def font_path(weight: Weight) -> Path:
    """Where the font's file lies; matplotlib is located, not loaded. Raises FontMissing."""
    spec = find_spec("matplotlib")
    if spec is None or not spec.submodule_search_locations:
        raise FontMissing("matplotlib, which carries the fonts, is not installed")
    path = Path(spec.submodule_search_locations[0]) / "mpl-data" / "fonts" / "ttf" / _FILES[weight]
    if not path.is_file():
        raise FontMissing(f"{path.name} is not among the files of matplotlib; install it again")
    return path


@cache
def font(weight: Weight) -> TTFont:
    """The whole font, read from its file. Raises FontMissing."""
    # A library and a long file, which texts of usual letters don't need.
    from reportlab.pdfbase.ttfonts import TTFError, TTFont

    path = font_path(weight)
    try:
        return TTFont(f"{path.stem} of bracketgen", str(path), asciiReadable=0)
    except (OSError, TTFError):
        raise FontMissing(f"{path.name} can't be read; install matplotlib again") from None


def advance(letter: str, weight: Weight) -> float:
    """How far a letter moves the pen, as a share of the letter size; of the stand-in for one that the font lacks."""
    return _advances(weight)[letter]


def text_width_mm(text: str, size_mm: float, weight: Weight = Weight.PLAIN) -> float:
    """Width of a text in one line, mm, as it is drawn."""
    return sum(map(_advances(weight).__getitem__, text)) * size_mm


def drawable(text: str, weight: Weight) -> str:
    """The text with the stand-in for every letter that the font lacks."""
    lacking = undrawable(text, weight)
    return text.translate(dict.fromkeys(map(ord, lacking), STAND_IN)) if lacking else text


def undrawable(text: str, *weights: Weight) -> str:
    """The letters of a text that one of the fonts lacks (all, if none is named), each once, as they come."""
    rare = [c for c in dict.fromkeys(text) if c not in _USUAL]
    return "".join(c for c in rare if any(ord(c) not in font(w).face.charToGlyph for w in weights or Weight))


def texts_of(table: object, name: str = "") -> Iterator[tuple[str, str]]:
    """Every text of a file that a person wrote, names of tables too, each with the dotted key that leads to it."""
    if isinstance(table, str):
        yield name, table
    elif isinstance(table, dict):
        for key, value in table.items():
            below = f"{name}.{key}" if name else str(key)
            yield below, str(key)
            yield from texts_of(value, below)
    elif isinstance(table, list):
        for number, value in enumerate(table, start=1):
            yield from texts_of(value, f"{name} {number}")


def letter_notes(texts: Iterable[tuple[str, str]]) -> list[Finding]:
    """A note for each text with letters that papers can't show; the texts come with what a person calls them."""
    notes: list[Finding] = []
    for subject, text in texts:
        lacking = "" if text.isascii() else undrawable(text)
        if lacking:
            named = ", ".join(f"'{c}' (U+{ord(c):04X})" for c in lacking[:_MOST_NAMED])
            more = f" and {len(lacking) - _MOST_NAMED} more" if len(lacking) > _MOST_NAMED else ""
            remedy = (
                f"{named}{more} can't be drawn: '{STAND_IN}' stands for each on pictures and pages; "
                "Latin, Greek and Cyrillic letters can"
            )
            notes.append(Finding(LETTERS, Level.NOTE, subject, None, None, "", None, remedy, _LETTERS_SOURCE))
    return notes


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


#: So many letters are named in a note (own choice).
_MOST_NAMED: Final = 4
_LETTERS_SOURCE: Final = "letters of the font DejaVu Sans 2.35"
#: The font's files.
_FILES: Final = {Weight.PLAIN: "DejaVuSans.ttf", Weight.BOLD: "DejaVuSans-Bold.ttf"}


class _Advances(dict[str, float]):
    """Widths by letter as shares of the letter size; those of rare letters are read from the font's file."""

    def __init__(self, weight: Weight) -> None:
        table = (_BOLD if weight is Weight.BOLD else _PLAIN).split()
        super().__init__((c, int(units) / _UNITS_PER_EM) for c, units in zip(_USUAL, table, strict=True))
        self._weight = weight

    def __missing__(self, letter: str) -> float:
        face = font(self._weight).face
        found = face.charWidths.get(ord(letter)) if ord(letter) in face.charToGlyph else None
        self[letter] = self[STAND_IN] if found is None else found / _PER_EM_OF_PDF
        return self[letter]


@cache
def _advances(weight: Weight) -> _Advances:
    return _Advances(weight)


#: Widths in a PDF file are thousandths of the letter size. Source: ISO 32000-1:2008, 9.2.4.
_PER_EM_OF_PDF: Final = 1000.0
_UNITS_PER_EM: Final = 2048
#: The letters whose widths stand here, so that no font has to be opened to measure them: U+0020 to U+007E, U+00A0 to
#: U+017F, and signs.
_USUAL: Final = "".join(map(chr, (*range(0x20, 0x7F), *range(0xA0, 0x180)))) + "–—‘’“”…−≤≥≈→↑↓"

#: Their widths in units, in that order. Source: table 'hmtx' of DejaVuSans and DejaVuSans-Bold, version 2.35.
_PLAIN: Final = """
    651 821 942 1716 1303 1946 1597 563 799 799 1024 1716 651 739 651 690 1303 1303 1303 1303 1303 1303 1303
    1303 1303 1303 690 690 1716 1716 1716 1087 2048 1401 1405 1430 1577 1294 1178 1587 1540 604 604 1343 1141
    1767 1532 1612 1235 1612 1423 1300 1251 1499 1401 2025 1403 1251 1403 799 690 799 1716 1024 1024 1255 1300
    1126 1300 1260 721 1300 1298 569 569 1186 569 1995 1298 1253 1300 1300 842 1067 803 1298 1212 1675 1212 1212
    1075 1303 690 1303 1716 651 821 1303 1303 1303 1303 690 1024 1024 2048 965 1253 1716 739 2048 1024 1024 1716
    821 821 1024 1303 1303 651 1024 821 965 1253 1985 1985 1985 1087 1401 1401 1401 1401 1401 1401 1995 1430
    1294 1294 1294 1294 604 604 604 604 1587 1532 1612 1612 1612 1612 1612 1716 1612 1499 1499 1499 1499 1251
    1239 1290 1255 1255 1255 1255 1255 1255 2011 1126 1260 1260 1260 1260 569 569 569 569 1253 1298 1253 1253
    1253 1253 1253 1716 1253 1298 1298 1298 1298 1212 1300 1212 1401 1255 1401 1255 1401 1255 1430 1126 1430
    1126 1430 1126 1430 1126 1577 1300 1587 1300 1294 1260 1294 1260 1294 1260 1294 1260 1294 1260 1587 1300
    1587 1300 1587 1300 1587 1300 1540 1298 1876 1423 604 569 604 569 604 569 604 569 604 569 1208 1138 604 569
    1343 1186 1186 1141 569 1141 569 1141 768 1141 700 1151 582 1532 1298 1532 1298 1532 1298 1666 1532 1298
    1612 1253 1612 1253 1612 1253 2191 2095 1423 842 1423 842 1423 842 1300 1067 1300 1067 1300 1067 1300 1067
    1251 803 1251 803 1251 803 1499 1298 1499 1298 1499 1298 1499 1298 1499 1298 1499 1298 2025 1675 1251 1212
    1251 1403 1075 1403 1075 1403 1075 721 1024 2048 651 651 1061 1061 2048 1716 1716 1716 1716 1716 1716 1716
"""
_BOLD: Final = """
    713 934 1067 1716 1425 2052 1786 627 936 936 1071 1716 778 850 778 748 1425 1425 1425 1425 1425 1425 1425
    1425 1425 1425 819 819 1716 1716 1716 1188 2048 1585 1561 1503 1700 1399 1399 1681 1714 762 762 1587 1305
    2038 1714 1741 1501 1741 1577 1475 1397 1663 1585 2259 1579 1483 1485 936 748 936 1716 1024 1024 1382 1466
    1214 1466 1389 891 1466 1458 702 702 1362 702 2134 1458 1407 1466 1466 1010 1219 979 1458 1335 1892 1321
    1335 1192 1458 748 1458 1716 713 934 1425 1425 1303 1425 748 1024 1024 2048 1155 1323 1716 850 2048 1024
    1024 1716 897 897 1024 1507 1303 778 1024 897 1155 1323 2120 2120 2120 1188 1585 1585 1585 1585 1585 1585
    2222 1503 1399 1399 1399 1399 762 762 762 762 1716 1714 1741 1741 1741 1741 1741 1716 1741 1663 1663 1663
    1663 1483 1511 1473 1382 1382 1382 1382 1382 1382 2146 1214 1389 1389 1389 1389 702 702 702 702 1407 1458
    1407 1407 1407 1407 1407 1716 1407 1458 1458 1458 1458 1335 1466 1335 1585 1382 1585 1382 1585 1382 1503
    1214 1503 1214 1503 1214 1503 1214 1700 1466 1716 1466 1399 1389 1399 1389 1399 1389 1399 1389 1399 1389
    1681 1466 1681 1466 1681 1466 1681 1466 1714 1458 1994 1618 762 702 762 702 762 702 762 702 762 702 1524
    1404 762 702 1587 1362 1362 1305 702 1305 702 1305 982 1305 1140 1315 760 1714 1458 1714 1458 1714 1458 2013
    1714 1458 1741 1407 1741 1407 1741 1407 2390 2241 1577 1010 1577 1010 1577 1010 1475 1219 1475 1219 1475
    1219 1475 1219 1397 979 1397 979 1397 979 1663 1458 1663 1458 1663 1458 1663 1458 1663 1458 1663 1458 2259
    1892 1483 1335 1483 1485 1192 1485 1192 1485 1192 891 1024 2048 778 778 1346 1346 2048 1716 1716 1716 1716
    1716 1716 1716
"""
