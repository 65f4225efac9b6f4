"""The PDF writer against pypdf's reading, fontTools' reading of the embedded letters, and a renderer's pixels."""

from __future__ import annotations

import io
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.ttLib import TTFont
from pdf_reading import Page, letters_of, read_pages
from PIL import Image
from preview_parts import KINDS, seven_findings, worked
from pypdf import PdfReader

from bracketgen.drawing.marks.lettering import Weight, font_path, text_width_mm
from bracketgen.drawing.picture.preview import preview
from bracketgen.drawing.sheet import FAIL, INK, WHITE, Align, Fill, Label, Mark, Sheet, Stroke, TextDirection
from bracketgen.files.pdf import MOST_PAGE_MM, pdf_bytes
from bracketgen.geometry.plane import Point

#: ISO 216 and ANSI/ASME Y14.1: A4, A4 lying, Letter (8.5 x 11 in), A3.
SIZES = [(210.0, 297.0), (297.0, 210.0), (215.9, 279.4), (297.0, 420.0)]
WORDS = "Ø8.4 (M8) 90° turn, 4 × 25.4 – “édge” ÄÖÜ ŁŻĘ … ≤ 3 → 5 ½"
LETTERS = [chr(c) for c in (*range(0x20, 0x7F), *range(0xA0, 0x180))] + list("–—‘’“”…−≤≥≈→↑↓")


def page_of(*marks: Mark, size: tuple[float, float] = (210.0, 297.0)) -> Page:
    (page,) = read_pages(pdf_bytes([Sheet(*size, marks, WHITE)]))
    return page


@pytest.mark.parametrize("size", SIZES)
def test_page_boxes_are_exact_and_printing_is_unscaled(size: tuple[float, float]) -> None:
    data = pdf_bytes([Sheet(*size, ()), Sheet(size[1], size[0], ())])
    reader = PdfReader(io.BytesIO(data), strict=True)
    for page, (width, height) in zip(reader.pages, (size, size[::-1]), strict=True):
        for box in (page.mediabox, page.cropbox):
            assert (float(box.left), float(box.bottom)) == (0.0, 0.0)
            assert float(box.width) * 25.4 / 72 == pytest.approx(width, abs=1e-4)
            assert float(box.height) * 25.4 / 72 == pytest.approx(height, abs=1e-4)
        assert "/UserUnit" not in page and page.get("/Rotate", 0) == 0
    preferences = reader.root_object["/ViewerPreferences"]
    assert preferences == {"/PrintScaling": "/None"}
    # Table 150 of ISO 32000-1: the entry came with PDF 1.6.
    assert reader.pdf_header == "%PDF-1.6"


def test_lines_lie_where_the_sheet_says() -> None:
    chains = [((10.0, 20.0), (110.0, 20.0)), ((0.0001, 296.9999), (33.3333, 1.23456), (205.0, 7.0))]
    page = page_of(*(Stroke(tuple(Point(*p) for p in c), 0.3, FAIL, (4.0, 1.0, 1.0, 1.0)) for c in chains))
    assert len(page.paths) == 2
    for drawn, chain in zip(page.paths, chains, strict=True):
        assert drawn.chains[0] == pytest.approx([pytest.approx(p, abs=1e-4) for p in chain])
        assert drawn.paint == "S" and drawn.width == pytest.approx(0.3, abs=1e-4)
        assert drawn.dash == pytest.approx((4.0, 1.0, 1.0, 1.0), abs=1e-4)
        assert drawn.colour == pytest.approx([c / 255 for c in FAIL], abs=1e-3)
    assert page.paths[0].length == pytest.approx(100.0, abs=1e-3)


def test_a_shape_keeps_its_holes_and_a_ring_is_closed() -> None:
    ring = tuple(Point(x, y) for x, y in ((10.0, 10.0), (60.0, 10.0), (60.0, 40.0), (10.0, 40.0)))
    hole = tuple(Point(x, y) for x, y in ((20.0, 20.0), (30.0, 20.0), (30.0, 30.0)))
    page = page_of(Fill((ring, hole), INK), Stroke((*ring, ring[0]), 0.5))
    fill, edge = page.paths
    assert fill.paint == "f" and len(fill.chains) == 2
    assert edge.length == pytest.approx(160.0, abs=1e-3)
    assert edge.chains[0][0] == edge.chains[0][-1]


@pytest.mark.parametrize("weight", list(Weight))
@pytest.mark.parametrize("reading", list(TextDirection))
@pytest.mark.parametrize("align", list(Align))
def test_text_reads_back_inside_its_box(weight: Weight, reading: TextDirection, align: Align) -> None:
    label = Label(WORDS, Point(100.0, 150.0), 3.2, INK, weight, align, reading)
    (text,) = page_of(label).texts
    assert text.text == WORDS
    assert text.size == pytest.approx(3.2, abs=1e-4)
    assert text.length == pytest.approx(text_width_mm(WORDS, 3.2, weight), abs=0.01)
    x0, y0, x1, y1 = label.box
    if reading is TextDirection.LEVEL:
        assert text.along == pytest.approx((1.0, 0.0))
        assert (text.at[0], text.at[0] + text.length) == pytest.approx((x0, x1), abs=0.01)
    else:
        assert text.along == pytest.approx((0.0, 1.0))
        assert (text.at[1], text.at[1] + text.length) == pytest.approx((y0, y1), abs=0.01)


def test_pypdf_finds_the_same_words() -> None:
    reader = PdfReader(io.BytesIO(pdf_bytes([Sheet(210.0, 297.0, (Label(WORDS, Point(20.0, 100.0), 4.0),))])))
    assert reader.pages[0].extract_text().strip() == WORDS


@pytest.mark.parametrize("align", list(Align))
@pytest.mark.parametrize("weight", list(Weight))
def test_a_letter_that_the_font_lacks_is_a_question_mark(weight: Weight, align: Align) -> None:
    label = Label("漢字 ж ш", Point(100.0, 100.0), 5.0, weight=weight, align=align)
    (text,) = page_of(label).texts
    assert text.text == "?? ж ш"
    assert (text.at[0], text.at[0] + text.length) == pytest.approx((label.box[0], label.box[2]), abs=0.01)


@pytest.mark.parametrize("title", ["Halter für Bremsleitung", "刹车管支架 (左)", "a\\b) \N{PILE OF POO}"])
def test_the_title_for_the_viewer_holds_any_letters(title: str) -> None:
    told = PdfReader(io.BytesIO(pdf_bytes([Sheet(210.0, 297.0, ())], title))).metadata
    assert told is not None and told.title == title


def embedded(data: bytes) -> Iterator[tuple[Weight, TTFont, dict[str, str], dict[str, float]]]:
    """Each font of the file as fontTools reads it; by letter the name of its glyph and the width that the file states.

    A font has 256 letters at most, so one of the sheet's fonts may be there in several parts.
    """
    page = PdfReader(io.BytesIO(data), strict=True).pages[0]
    for ref in page["/Resources"]["/Font"].values():  # type: ignore[index]
        font: Any = ref.get_object()
        program = font["/FontDescriptor"]["/FontFile2"].get_object()
        assert program["/Length1"] == len(program.get_data())
        codes = {letter: code for code, letter in letters_of(font).items() if code}
        read = TTFont(io.BytesIO(program.get_data()), checkChecksums=2)
        # Table (1, 0) of a font with letters of its own numbering (9.6.6.4).
        glyphs = read["cmap"].getcmap(1, 0).cmap
        widths = [float(w) for w in font["/Widths"]]
        assert font["/FirstChar"] == 0 and font["/FontDescriptor"]["/Flags"] & 4
        yield (
            Weight.BOLD if font["/BaseFont"].endswith("-Bold") else Weight.PLAIN,
            read,
            {letter: glyphs[code] for letter, code in codes.items()},
            {letter: widths[code] for letter, code in codes.items()},
        )


def outline(font: TTFont, name: str) -> list[Any]:
    pen = DecomposingRecordingPen(font.getGlyphSet())
    font.getGlyphSet()[name].draw(pen)
    return list(pen.value)


def test_embedded_letters_are_those_of_the_font() -> None:
    """Outlines, parts of accented letters and widths, letter by letter, against the font file as fontTools reads it."""
    marks = [Label("".join(LETTERS), Point(5.0, 10.0 * i), 1.0, weight=w) for i, w in enumerate(Weight)]
    seen: set[tuple[Weight, str]] = set()
    for weight, font, names, widths in embedded(pdf_bytes([Sheet(900.0, 90.0, tuple(marks))])):
        with TTFont(font_path(weight)) as whole:
            for letter, name in names.items():
                whole_name = whole.getBestCmap()[ord(letter)]
                assert outline(font, name) == outline(whole, whole_name), letter
                assert font["hmtx"][name] == whole["hmtx"][whole_name]
                assert widths[letter] == pytest.approx(whole["hmtx"][whole_name][0] / 2.048, abs=1e-3)
                seen.add((weight, letter))
    # A blank that keeps a line together is drawn as a usual one.
    assert seen == {(weight, letter) for weight in Weight for letter in LETTERS if letter != "\xa0"}


def test_only_the_letters_in_use_are_embedded() -> None:
    few = pdf_bytes([Sheet(210.0, 297.0, (Label("100 mm", Point(20.0, 100.0), 4.0),))])
    ((weight, font, names, _),) = embedded(few)
    assert weight is Weight.PLAIN and set(names) == set("100 mm")
    # And the sign for a missing letter.
    assert len(font.getGlyphOrder()) == len(names) + 1
    assert len(few) < 12_000
    assert b"/FontFile2" not in pdf_bytes([Sheet(210.0, 297.0, ())])


@pytest.mark.parametrize("kind", KINDS)
def test_a_whole_sheet_says_everything_again(kind: str) -> None:
    sheet = preview(*worked(KINDS[kind]()), seven_findings())
    (page,) = read_pages(pdf_bytes([sheet]))
    assert [t.text for t in page.texts] == [label.text for label in sheet.labels]
    # One more for the tinted paper.
    assert len(page.paths) == 1 + sum(not isinstance(m, Label) for m in sheet.marks)
    for text, label in zip(page.texts, sheet.labels, strict=True):
        across = text.length if label.reading is TextDirection.LEVEL else 0.0
        assert text.at[0] >= label.box[0] - 0.01 and text.at[0] + across <= label.box[2] + 0.01


def test_what_makes_no_file() -> None:
    with pytest.raises(ValueError, match="at least one page"):
        pdf_bytes([])
    with pytest.raises(ValueError, match="no PDF page"):
        pdf_bytes([Sheet(MOST_PAGE_MM * 1.01, 100.0, ())])


_CHILD = """
import hashlib, sys
from bracketgen.drawing.sheet import Label, Sheet, Stroke
from bracketgen.geometry.plane import Point
from bracketgen.files.pdf import pdf_bytes
marks = (Label("Ø8.4 × 3 – Öse", Point(20.0, 100.0), 4.0), Stroke((Point(1.0, 2.0), Point(3.0, 4.5)), 0.3))
print(hashlib.sha256(pdf_bytes([Sheet(210.0, 297.0, marks)] * 2)).hexdigest())
assert "matplotlib" not in sys.modules
"""


def test_the_same_bytes_in_any_surroundings(tmp_path: Path) -> None:
    found = set()
    for changes in ({"PYTHONHASHSEED": "1"}, {"PYTHONHASHSEED": "7", "TZ": "Pacific/Kiritimati", "LC_ALL": "C"}):
        surroundings = {k: v for k, v in os.environ.items() if k in ("PATH", "SYSTEMROOT", "VIRTUAL_ENV")} | changes
        surroundings["PYTHONPATH"] = str(Path(__file__).parents[2])
        done = subprocess.run([sys.executable, "-c", _CHILD], cwd=tmp_path, env=surroundings, capture_output=True,
                              text=True, check=False)  # fmt: skip
        assert done.returncode == 0, done.stderr
        found.add(done.stdout)
    assert len(found) == 1


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="the renderer pdftoppm is not on this machine")
def test_a_renderer_draws_it_true_and_writes_its_letters(tmp_path: Path) -> None:
    """At 300 dpi a pixel is 0.085 mm: a bar of 100 mm and a text, where and as large as the sheet says."""
    bar = Fill((tuple(Point(x, y) for x, y in ((20.0, 50.0), (120.0, 50.0), (120.0, 60.0), (20.0, 60.0))),), INK)
    label = Label("HHHHHHHHHH", Point(20.0, 150.0), 10.0)
    target = tmp_path / "a.pdf"
    target.write_bytes(pdf_bytes([Sheet(210.0, 297.0, (bar, label), WHITE)]))
    subprocess.run(["pdftoppm", "-r", "300", "-png", "-singlefile", str(target), str(tmp_path / "a")], check=True)
    with Image.open(tmp_path / "a.png") as image:
        dark = image.convert("L").point([255 * (v < 128) for v in range(256)])
        per_mm = 300 / 25.4
        assert image.size == pytest.approx((210 * per_mm, 297 * per_mm), abs=1)
        low = dark.crop((0, image.size[1] // 2, *image.size)).getbbox()
        high = dark.crop((0, 0, image.size[0], image.size[1] // 2 + 10)).getbbox()
    assert low is not None and high is not None
    assert (low[2] - low[0]) / per_mm == pytest.approx(100.0, abs=0.17)
    assert low[0] / per_mm == pytest.approx(20.0, abs=0.17)
    with TTFont(font_path(Weight.PLAIN)) as font:
        (advance, left), box = font["hmtx"]["H"], font["glyf"]["H"]
    assert (high[3] - high[1]) / per_mm == pytest.approx(10 * box.yMax / 2048, abs=0.17)
    assert (high[2] - high[0]) / per_mm == pytest.approx(10 * (9 * advance + box.xMax - left) / 2048, abs=0.17)
