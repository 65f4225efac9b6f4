"""The letters of one font that a PDF file needs, cut out of its TrueType file.

Table and field names are those of the OpenType specification, version 1.9 (chapters 'cmap', 'glyf', 'hmtx', 'loca').
"""

from __future__ import annotations

import struct
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache, cached_property
from pathlib import Path
from typing import Final

#: Flags of a glyph that is put together from others.
_WORDS: Final = 0x0001
_ONE_SCALE: Final = 0x0008
_MORE: Final = 0x0020
_TWO_SCALES: Final = 0x0040
_MATRIX: Final = 0x0080
#: What a printer needs of a font beside the glyphs: sizes, and the programs that fit strokes to pixels.
_KEPT: Final[tuple[str, ...]] = ("cvt ", "fpgm", "prep")
_CHECK_SUM_OF_FILE: Final = 0xB1B0AFBA


class FontUnreadable(RuntimeError):
    """A font file that is no TrueType font with a table of all letters."""


@dataclass(frozen=True)
class TrueType:
    """A font file, read as far as writing its letters into a PDF needs."""

    data: bytes

    @cached_property
    def tables(self) -> dict[str, bytes]:
        """The file's tables by their tags."""
        (count,) = struct.unpack_from(">H", self.data, 4)
        rows = (struct.unpack_from(">4sIII", self.data, 12 + 16 * i) for i in range(count))
        return {tag.decode("latin-1"): self.data[at : at + length] for tag, _, at, length in rows}

    @cached_property
    def units_per_em(self) -> int:
        """How many units the letter size has."""
        (units,) = struct.unpack_from(">H", self.tables["head"], 18)
        return int(units)

    @cached_property
    def bounds(self) -> tuple[int, int, int, int]:
        """The box around all glyphs, in units."""
        left, low, right, high = struct.unpack_from(">4h", self.tables["head"], 36)
        return left, low, right, high

    @cached_property
    def glyph_of(self) -> dict[int, int]:
        """Glyph number by code point; 0 is the sign for a missing letter."""
        cmap = self.tables["cmap"]
        (count,) = struct.unpack_from(">H", cmap, 2)
        for i in range(count):
            _, _, at = struct.unpack_from(">HHI", cmap, 4 + 8 * i)
            if struct.unpack_from(">H", cmap, at) == (12,):
                return dict(_groups(cmap, at))
        raise FontUnreadable("the font has no table of all letters")

    def advance(self, glyph: int) -> int:
        """How far a glyph moves the pen, in units."""
        return self._metrics(glyph)[0]

    def outline(self, glyph: int) -> bytes:
        """A glyph's description; empty for a blank."""
        start, end = self._places[glyph : glyph + 2]
        return self.tables["glyf"][start:end]

    @cached_property
    def _places(self) -> tuple[int, ...]:
        (long_,) = struct.unpack_from(">h", self.tables["head"], 50)
        loca = self.tables["loca"]
        if long_:
            return struct.unpack(f">{len(loca) // 4}I", loca)
        return tuple(2 * v for v in struct.unpack(f">{len(loca) // 2}H", loca))

    def _metrics(self, glyph: int) -> tuple[int, int]:
        """Advance and left side bearing; the last advances are equal and stand there once."""
        (count,) = struct.unpack_from(">H", self.tables["hhea"], 34)
        hmtx = self.tables["hmtx"]
        if glyph < count:
            advance, left = struct.unpack_from(">Hh", hmtx, 4 * glyph)
            return advance, left
        (advance,) = struct.unpack_from(">H", hmtx, 4 * (count - 1))
        (left,) = struct.unpack_from(">h", hmtx, 4 * count + 2 * (glyph - count))
        return advance, left

    def subset(self, text: Iterable[str]) -> Subset:
        """The font with the letters of `text` alone, numbered anew from 1 in the order of their code points."""
        codes = sorted({ord(c) for c in text if ord(c) in self.glyph_of})
        kept: dict[int, int] = {0: 0}
        number: dict[int, int] = {}
        for code in codes:
            number[code] = kept.setdefault(self.glyph_of[code], len(kept))
        self._with_parts(kept)
        return Subset(self, number, tuple(kept))

    def _with_parts(self, kept: dict[int, int]) -> None:
        """The glyphs that others are put together from come along."""
        waiting = list(kept)
        while waiting:
            for _, part in _parts(self.outline(waiting.pop())):
                if part not in kept:
                    kept[part] = len(kept)
                    waiting.append(part)


@dataclass(frozen=True)
class Subset:
    """Some letters of a font: their new numbers by code point, and the glyphs in the order of these numbers."""

    font: TrueType
    number: dict[int, int]
    glyphs: tuple[int, ...]

    def widths(self) -> list[float]:
        """Advance of every glyph in thousandths of the letter size."""
        per = 1000.0 / self.font.units_per_em
        return [self.font.advance(g) * per for g in self.glyphs]

    def width(self, text: str, size: float) -> float:
        """Length of a text as it is drawn, without kerning, in the unit of `size`."""
        units = sum(self.font.advance(self.glyphs[self.number.get(ord(c), 0)]) for c in text)
        return units / self.font.units_per_em * size

    def encoded(self, text: str) -> str:
        """The text as glyph numbers in hexadecimal digits, four a letter."""
        return "".join(f"{self.number.get(ord(c), 0):04X}" for c in text)

    def file(self) -> bytes:
        """A TrueType file that holds these glyphs alone."""
        given, count = self.font.tables, len(self.glyphs)
        places, shapes = self._shapes()
        tables = {tag: given[tag] for tag in _KEPT if tag in given}
        tables["glyf"] = shapes
        tables["loca"] = struct.pack(f">{count + 1}I", *places)
        tables["hmtx"] = b"".join(struct.pack(">Hh", *self.font._metrics(g)) for g in self.glyphs)
        tables["maxp"] = _patched(given["maxp"], 4, ">H", count)
        tables["hhea"] = _patched(given["hhea"], 34, ">H", count)
        tables["head"] = _patched(_patched(given["head"], 50, ">h", 1), 8, ">I", 0)
        return _font_file(tables)

    def _shapes(self) -> tuple[list[int], bytes]:
        """Where each glyph begins, and all of them one after the other; parts are named by their new numbers."""
        new = {glyph: i for i, glyph in enumerate(self.glyphs)}
        places, shapes = [0], bytearray()
        for glyph in self.glyphs:
            shape = bytearray(self.font.outline(glyph))
            for at, part in list(_parts(bytes(shape))):
                struct.pack_into(">H", shape, at, new[part])
            shapes += shape + b"\0" * (-len(shape) % 4)
            places.append(len(shapes))
        return places, bytes(shapes)


@cache
def read_font(path: Path) -> TrueType:
    """A font file. Raises OSError and FontUnreadable."""
    data = path.read_bytes()
    if data[:4] != b"\0\1\0\0":
        raise FontUnreadable(f"{path.name} is no TrueType font")
    return TrueType(data)


def _groups(cmap: bytes, at: int) -> Iterator[tuple[int, int]]:
    """Code points and glyphs of a table in format 12."""
    (count,) = struct.unpack_from(">I", cmap, at + 12)
    for i in range(count):
        first, last, glyph = struct.unpack_from(">III", cmap, at + 16 + 12 * i)
        yield from ((code, glyph + code - first) for code in range(first, last + 1))


def _parts(shape: bytes) -> Iterator[tuple[int, int]]:
    """The glyphs that a glyph is put together from, each with the place of its number; none for a plain one."""
    if not shape or struct.unpack_from(">h", shape)[0] >= 0:
        return
    at, flags = 10, _MORE
    while flags & _MORE:
        flags, glyph = struct.unpack_from(">HH", shape, at)
        yield at + 2, glyph
        at += 8 if flags & _WORDS else 6
        at += 2 if flags & _ONE_SCALE else 4 if flags & _TWO_SCALES else 8 if flags & _MATRIX else 0


def _patched(table: bytes, at: int, form: str, value: int) -> bytes:
    changed = bytearray(table)
    struct.pack_into(form, changed, at, value)
    return bytes(changed)


def _check_sum(data: bytes) -> int:
    whole = data + b"\0" * (-len(data) % 4)
    words: tuple[int, ...] = struct.unpack(f">{len(whole) // 4}I", whole)
    return sum(words) & 0xFFFFFFFF


def _font_file(tables: dict[str, bytes]) -> bytes:
    """The tables behind their directory, with the check sums that the format asks for."""
    tags = sorted(tables)
    power = len(tags).bit_length() - 1
    head = struct.pack(">IHHHH", 0x00010000, len(tags), 16 << power, power, 16 * (len(tags) - (1 << power)))
    at = len(head) + 16 * len(tags)
    directory, body = bytearray(head), bytearray()
    for tag in tags:
        data = tables[tag]
        directory += struct.pack(">4sIII", tag.encode("latin-1"), _check_sum(data), at + len(body), len(data))
        body += data + b"\0" * (-len(data) % 4)
    whole = bytes(directory + body)
    adjustment = (_CHECK_SUM_OF_FILE - _check_sum(whole)) & 0xFFFFFFFF
    start = at + sum(len(tables[t]) + -len(tables[t]) % 4 for t in tags if t < "head")
    return _patched(whole, start + 8, ">I", adjustment)
