"""Sheets as the pages of a PDF file, at true size.

Written without a library, so that nothing rounds a length: a page's coordinates are the sheet's own millimetres behind
one matrix, and the file asks viewers to print it unscaled. The letters are embedded, with the widths that sheets are
laid out by. No date, no random number, nothing compressed: the same sheets give the same bytes everywhere.
Source: ISO 32000-1:2008; table 150 for the print scaling, chapter 9.7 for the fonts.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from bracketgen.drawing.paper.lettering import ASCENT, DESCENT, Weight
from bracketgen.drawing.sheet import Sheet
from bracketgen.writers.pages.pdf_content import FONT_NAMES, POINTS_PER_MM, page_content
from bracketgen.writers.pages.pdf_font import Subset, read_font
from bracketgen.writers.png import FONTS, FontMissing, font_folder

#: The first line; the second holds bytes above 127, so that nothing takes the file for text (7.5.2).
_HEAD: Final = b"%PDF-1.6\n%\xe2\xe3\xcf\xd3\n"
#: The widest page of the format without a unit of its own is 14 400 points (annex C.2).
MOST_PAGE_MM: Final = 14400.0 / POINTS_PER_MM
#: Flag of a font with signs beyond the standard Latin set (table 123).
_SYMBOLIC: Final = 4
_NAMES: Final = {Weight.PLAIN: "DejaVuSans", Weight.BOLD: "DejaVuSans-Bold"}
_MOST_IN_A_LIST: Final = 100
#: Height of a capital and width of a stem in thousandths of the letter size. The format asks for them; a viewer needs
#: them only for a font that is not embedded. Source: the glyph H of DejaVu Sans 2.35, 1493 of 2048 units high; the
#: stem is a usual value, from memory.
_CAPITAL: Final = 729
_STEM: Final = 80


def pdf_bytes(pages: Sequence[Sheet]) -> bytes:
    """The file with a page for each sheet, at the size that the sheet says (at most MOST_PAGE_MM).

    The same bytes for the same sheets. Raises ValueError without a page or for one that is too large, and FontMissing.
    """
    if not pages:
        raise ValueError("a PDF file needs at least one page")
    for page in pages:
        if not (0.0 < page.width_mm <= MOST_PAGE_MM and 0.0 < page.height_mm <= MOST_PAGE_MM):
            raise ValueError(f"no PDF page can be {page.width_mm:g} x {page.height_mm:g} mm")
    fonts = _fonts(pages)
    file = _Objects()
    catalog, tree = file.reserve(), file.reserve()
    named = {weight: _font_objects(file, weight, font) for weight, font in fonts.items()}
    listed = " ".join(f"/{FONT_NAMES[weight]} {at} 0 R" for weight, at in named.items())
    kids = [_page_objects(file, page, fonts, tree, listed) for page in pages]
    file.put(catalog, f"<< /Type /Catalog /Pages {tree} 0 R /ViewerPreferences << /PrintScaling /None >> >>")
    file.put(tree, f"<< /Type /Pages /Count {len(kids)} /Kids [{' '.join(f'{k} 0 R' for k in kids)}] >>")
    return file.bytes(catalog)


class _Objects:
    """The file's objects while they are made; numbered from 1."""

    def __init__(self) -> None:
        self._bodies: list[bytes] = []

    def reserve(self) -> int:
        """A number for an object that is put later."""
        self._bodies.append(b"null")
        return len(self._bodies)

    def put(self, number: int, body: str) -> None:
        """The body of a reserved object."""
        self._bodies[number - 1] = body.encode("ascii")

    def add(self, body: str) -> int:
        """One more object; its number."""
        self._bodies.append(body.encode("ascii"))
        return len(self._bodies)

    def stream(self, data: bytes, entries: str = "") -> int:
        """An object that holds plain bytes; its number."""
        head = f"<< /Length {len(data)}{entries} >>\nstream\n".encode("ascii")
        self._bodies.append(head + data + b"\nendstream")
        return len(self._bodies)

    def bytes(self, root: int) -> bytes:
        """The whole file: objects, the table of their places, the trailer (7.5)."""
        out, places = bytearray(_HEAD), []
        for number, body in enumerate(self._bodies, 1):
            places.append(len(out))
            out += b"%d 0 obj\n%b\nendobj\n" % (number, body)
        table = len(out)
        out += b"xref\n0 %d\n0000000000 65535 f \n" % (len(places) + 1)
        out += b"".join(b"%010d 00000 n \n" % place for place in places)
        out += b"trailer\n<< /Size %d /Root %d 0 R >>\nstartxref\n%d\n%%%%EOF\n" % (len(places) + 1, root, table)
        return bytes(out)


def _fonts(pages: Sequence[Sheet]) -> dict[Weight, Subset]:
    """The letters that the pages use, by weight."""
    found: dict[Weight, Subset] = {}
    for weight in Weight:
        letters = {c for page in pages for label in page.labels if label.weight is weight for c in label.text}
        if letters:
            try:
                font = read_font(font_folder() / FONTS[weight])
            except OSError:
                raise FontMissing(f"{FONTS[weight]} can't be read; install matplotlib again") from None
            found[weight] = font.subset(letters)
    return found


def _page_objects(file: _Objects, page: Sheet, fonts: Mapping[Weight, Subset], tree: int, listed: str) -> int:
    content = file.stream(page_content(page, fonts))
    box = f"[0 0 {page.width_mm * POINTS_PER_MM:.6f} {page.height_mm * POINTS_PER_MM:.6f}]"
    resources = f"<< /ProcSet [/PDF /Text] /Font << {listed} >> >>"
    return file.add(
        f"<< /Type /Page /Parent {tree} 0 R /MediaBox {box} /Resources {resources} /Contents {content} 0 R >>"
    )


def _font_objects(file: _Objects, weight: Weight, font: Subset) -> int:
    """A font whose letters are called by glyph number (9.7), with the way back to readable text (9.10.3)."""
    data = font.file()
    program = file.stream(data, f" /Length1 {len(data)}")
    name = f"{_tag(weight)}+{_NAMES[weight]}"
    per = 1000.0 / font.font.units_per_em
    bounds = " ".join(str(round(v * per)) for v in font.font.bounds)
    descriptor = file.add(
        f"<< /Type /FontDescriptor /FontName /{name} /Flags {_SYMBOLIC} /FontBBox [{bounds}] /ItalicAngle 0 "
        f"/Ascent {round(1000 * ASCENT)} /Descent {round(-1000 * DESCENT)} /CapHeight {_CAPITAL} /StemV {_STEM} "
        f"/FontFile2 {program} 0 R >>"
    )
    widths = " ".join(f"{w:.3f}" for w in font.widths())
    inner = file.add(
        f"<< /Type /Font /Subtype /CIDFontType2 /BaseFont /{name} /CIDToGIDMap /Identity "
        f"/CIDSystemInfo << /Registry (Adobe) /Ordering (Identity) /Supplement 0 >> "
        f"/FontDescriptor {descriptor} 0 R /W [0 [{widths}]] >>"
    )
    to_text = file.stream(_to_text(font))
    return file.add(
        f"<< /Type /Font /Subtype /Type0 /BaseFont /{name} /Encoding /Identity-H "
        f"/DescendantFonts [{inner} 0 R] /ToUnicode {to_text} 0 R >>"
    )


def _tag(weight: Weight) -> str:
    """Six letters that mark a font of which only some glyphs are there (9.6.4); fixed for the same bytes."""
    return "BRKTPL" if weight is Weight.PLAIN else "BRKTBD"


def _to_text(font: Subset) -> bytes:
    """Which glyph number is which letter, in the format's own small language."""
    rows = [f"<{number:04X}> <{chr(code).encode('utf-16-be').hex().upper()}>" for code, number in font.number.items()]
    parts = [rows[i : i + _MOST_IN_A_LIST] for i in range(0, len(rows), _MOST_IN_A_LIST)]
    lists = [line for part in parts for line in (f"{len(part)} beginbfchar", *part, "endbfchar")]
    return "\n".join(
        [
            "/CIDInit /ProcSet findresource begin",
            "12 dict begin",
            "begincmap",
            "/CIDSystemInfo << /Registry (Adobe) /Ordering (UCS) /Supplement 0 >> def",
            "/CMapName /Adobe-Identity-UCS def",
            "/CMapType 2 def",
            "1 begincodespacerange",
            "<0000> <FFFF>",
            "endcodespacerange",
            *lists,
            "endcmap",
            "CMapName currentdict /CMap defineresource pop",
            "end",
            "end\n",
        ]
    ).encode("ascii")
