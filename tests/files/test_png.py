"""The PNG writer against Pillow's reading, the fonts' own tables, and hostile surroundings."""

from __future__ import annotations

import io
import os
import struct
import subprocess
import sys
from itertools import pairwise
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont
from PIL import Image, ImageChops
from preview_parts import l_bracket, seven_findings, worked

from bracketgen.drawing.marks.lettering import Weight, font_path, text_width_mm, undrawable, wrapped
from bracketgen.drawing.picture.preview import preview
from bracketgen.drawing.sheet import (
    FAIL,
    INK,
    PAPER,
    WAY_LINE,
    WHITE,
    Align,
    Colour,
    Fill,
    Label,
    Mark,
    Sheet,
    Stroke,
    TextDirection,
)
from bracketgen.files.png import png_bytes, write_png
from bracketgen.geometry.plane import Point
from bracketgen.part.part import Way

WORDS = [
    "Fuel filter head bracket",
    "4 × Ø8.4 (M8)",
    "1  90° UP  R4",
    "DO NOT CUT: 2 rules have failed",
    "W",
    "ÄÖÜ ŁŻĘ",
    "rolling direction not stated",
    "AVATAR To Ty. LT",
    "required 10.08 mm – see … “list”",
]


def picture(*marks: Mark, size: tuple[float, float] = (100.0, 50.0), width_px: int = 400) -> Image.Image:
    return Image.open(io.BytesIO(png_bytes(Sheet(*size, marks), width_px))).convert("RGB")


def pixels(image: Image.Image) -> list[Colour]:
    """Red, green, blue of every pixel, row by row."""
    data = image.tobytes()
    return list(zip(data[0::3], data[1::3], data[2::3], strict=True))


def inked(image: Image.Image, paper: Colour = PAPER) -> tuple[int, int, int, int]:
    """Box of everything that is not paper: left, top, right, bottom in pixels."""
    apart = ImageChops.difference(image, Image.new("RGB", image.size, paper)).convert("L")
    box = apart.point([255 * (value > 40) for value in range(256)]).getbbox()
    assert box is not None
    return box


def box_ring(x0: float, y0: float, x1: float, y1: float) -> tuple[Point, ...]:
    return (Point(x0, y0), Point(x1, y0), Point(x1, y1), Point(x0, y1))


@pytest.fixture(scope="module")
def failing_sheet() -> Sheet:
    return preview(*worked(l_bracket()), seven_findings())


def test_picture_of_a_part_has_its_size_and_its_colours(failing_sheet: Sheet) -> None:
    image = Image.open(io.BytesIO(png_bytes(failing_sheet)))
    image.load()
    assert image.format == "PNG"
    assert image.size == (1600, 1131)
    # ISO 216: A4 is 297 mm wide.
    assert image.info["dpi"][0] == pytest.approx(1600 / 297 * 25.4, abs=0.1)
    colours = {c: n for n, c in image.convert("RGB").getcolors(1 << 24) or []}
    for colour, least in ((PAPER, 500_000), (INK, 5_000), (FAIL, 10_000), (WAY_LINE[Way.UP], 300)):
        assert colours.get(colour, 0) > least


def test_bytes_are_the_same_again_and_hold_no_date(failing_sheet: Sheet) -> None:
    first = png_bytes(failing_sheet)
    assert png_bytes(failing_sheet) == first
    assert _chunks(first) == {b"IHDR", b"PLTE", b"pHYs", b"IDAT", b"IEND"}


def _chunks(data: bytes) -> set[bytes]:
    """Kinds of the file's chunks (PNG specification, 5.3): length, kind, data, check sum."""
    at, kinds = 8, set()
    while at < len(data):
        (length,) = struct.unpack(">I", data[at : at + 4])
        kinds.add(data[at + 4 : at + 8])
        at += 12 + length
    return kinds


def test_up_is_up_and_right_is_right() -> None:
    """4 px a mm: a box near the upper left corner of the sheet lies there in the picture."""
    left, top, right, bottom = inked(picture(Fill((box_ring(10.0, 35.0, 30.0, 45.0),), INK)))
    assert (left, right) == pytest.approx((40, 120), abs=1)
    assert (top, bottom) == pytest.approx((20, 60), abs=1)


def test_a_hole_in_a_fill_shows_what_lies_below() -> None:
    below = Fill((box_ring(0.0, 0.0, 100.0, 50.0),), FAIL)
    image = picture(below, Fill((box_ring(10.0, 10.0, 90.0, 40.0), box_ring(40.0, 20.0, 60.0, 30.0)), INK))
    assert image.getpixel((200, 100)) == FAIL
    assert image.getpixel((100, 100)) == INK
    assert image.getpixel((10, 10)) == FAIL


@pytest.mark.parametrize("width_mm", [0.5, 1.0, 3.0])
def test_a_stroke_is_as_wide_as_it_says(width_mm: float) -> None:
    _, top, _, bottom = inked(picture(Stroke((Point(10.0, 25.0), Point(90.0, 25.0)), width_mm)))
    assert bottom - top == pytest.approx(width_mm * 4, abs=1.0)
    assert (top + bottom) / 2 == pytest.approx(100, abs=1.0)


def test_dashes_keep_their_pattern_round_corners() -> None:
    """Dashes of 3 and gaps of 1, along 5 mm and 7 mm upward, at 20 px a mm: ink where a dash is, paper in a gap."""
    corner = (Point(1.0, 1.0), Point(6.0, 1.0), Point(6.0, 8.0))
    image = picture(Stroke(corner, 0.4, dash_mm=(3.0, 1.0)), size=(10.0, 10.0), width_px=200)
    for along, seen in ((0.2, INK), (2.8, INK), (3.2, PAPER), (3.8, PAPER), (4.2, INK), (6.8, INK), (7.2, PAPER),
                        (7.8, PAPER), (8.2, INK), (10.8, INK), (11.2, PAPER)):  # fmt: skip
        x, y = (1.0 + along, 1.0) if along < 5.0 else (6.0, along - 4.0)
        assert image.getpixel((round(20 * x), round(200 - 20 * y))) == seen, along


@pytest.mark.parametrize("weight", list(Weight))
def test_letter_widths_are_those_of_the_font_file(weight: Weight) -> None:
    with TTFont(font_path(weight)) as font:
        names, widths = font.getBestCmap(), font["hmtx"]
        for code in (*range(0x20, 0x7F), *range(0xA0, 0x180), *map(ord, "–—‘’“”…−≤≥≈→↑↓")):
            assert text_width_mm(chr(code), 2048.0, weight) == pytest.approx(widths[names[code]][0], abs=1e-6)


@pytest.mark.parametrize("weight", list(Weight))
def test_rare_letters_are_as_wide_as_the_font_file_says(weight: Weight) -> None:
    with TTFont(font_path(weight)) as font:
        names, widths = font.getBestCmap(), font["hmtx"]
        for letter in "ЖшΩλ≠⌀√½":
            assert text_width_mm(letter, 2048.0, weight) == pytest.approx(widths[names[ord(letter)]][0], abs=1e-6)


@pytest.mark.parametrize("weight", list(Weight))
@pytest.mark.parametrize("text", WORDS)
def test_letters_stand_where_the_font_file_puts_them(text: str, weight: Weight) -> None:
    """Ink from the first letter's left edge to the last one's right edge, at 20 px a mm and letters of 10 mm."""
    image = picture(Label(text, Point(10.0, 5.0), 10.0, INK, weight), size=(300.0, 20.0), width_px=6000)
    left, _, right, _ = inked(image)
    with TTFont(font_path(weight)) as font:
        names = [font.getBestCmap()[ord(c)] for c in text]
        ahead = sum(font["hmtx"][n][0] for n in names[:-1])
        edges = (font["glyf"][names[0]].xMin, ahead + font["glyf"][names[-1]].xMax)
    assert (left, right) == pytest.approx([20 * (10.0 + 10.0 * units / 2048) for units in edges], abs=1.5)


def test_nothing_shines_through_between_shapes_that_share_an_edge() -> None:
    """A fan of slim triangles over another colour: between its outer edges every pixel is of its own colour.

    Three steps of 255 can't be told apart (own choice).
    """
    tip, below = Point(3.3, 4.7), Fill((box_ring(0.0, 0.0, 100.0, 50.0),), FAIL)
    ends = [Point(90.0, 2.0 + 1.7 * i) for i in range(26)]
    fan = [Fill(((tip, a, b),), INK) for a, b in pairwise(ends)]
    image = picture(below, *fan)
    inside = [(x, y) for x in range(60, 350) for y in range(200) if _between(tip, ends[0], ends[-1], x / 4, 50 - y / 4)]
    assert len(inside) > 20_000
    seen = {image.getpixel(p) for p in inside}
    assert max(abs(a - b) for colour in seen for a, b in zip(colour, INK, strict=True)) <= 3


def _between(tip: Point, low: Point, high: Point, x: float, y: float) -> bool:
    """Whether a point lies between two rays from a tip, by 2 mm at least."""
    floor = tip.y + (low.y - tip.y) * (x - tip.x) / (low.x - tip.x) + 2.0
    return floor < y < tip.y + (high.y - tip.y) * (x - tip.x) / (high.x - tip.x) - 2.0


def test_a_letter_that_the_font_lacks_is_a_question_mark() -> None:
    assert undrawable("Жгут 線束 (left) 線") == "線束"
    assert undrawable("Ö ×½ ≤ Ω") == ""
    drawn = [png_bytes(Sheet(100.0, 50.0, (Label(text, Point(9.0, 9.0), 5.0),)), 400) for text in ("線 M8", "? M8")]
    assert drawn[0] == drawn[1]


@pytest.mark.parametrize("reading", list(TextDirection))
@pytest.mark.parametrize("align", list(Align))
@pytest.mark.parametrize("text", ["2 × slot 9 × 14 (M8)", "j90° UP g"])
def test_a_label_is_drawn_inside_its_box(text: str, align: Align, reading: TextDirection) -> None:
    label = Label(text, Point(50.0, 50.0), 3.5, INK, Weight.BOLD, align, reading)
    left, top, right, bottom = inked(picture(label, size=(100.0, 100.0), width_px=1000))
    x0, y0, x1, y1 = label.box
    slack = 4
    assert x0 * 10 - slack <= left and right <= x1 * 10 + slack
    assert (100 - y1) * 10 - slack <= top and bottom <= (100 - y0) * 10 + slack
    along = (right - left) if reading is TextDirection.LEVEL else (bottom - top)
    assert along >= 0.93 * 10 * text_width_mm(text, 3.5, Weight.BOLD)


def test_upright_text_reads_from_below() -> None:
    """A wide start and a narrow end ('W.'): the ink of an upright label is heavier at its foot."""
    label = Label("WW......", Point(50.0, 50.0), 8.0, INK, Weight.BOLD, Align.CENTRE, TextDirection.UPRIGHT)
    image = picture(label, size=(100.0, 100.0), width_px=400)
    upper, lower = image.crop((0, 0, 400, 200)), image.crop((0, 200, 400, 400))
    dark = [sum(p[0] < 128 for p in pixels(half)) for half in (upper, lower)]
    assert dark[1] > 2 * dark[0] > 0


def test_wrapped_text_keeps_every_letter_and_the_width() -> None:
    text = "Move the hole at least 2.2 mm toward the middle, or " + "x" * 90 + " make the leg longer"
    lines = wrapped(text, 40.0, 3.2)
    assert all(text_width_mm(line, 3.2) <= 40.0 for line in lines)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")


def test_written_whole(tmp_path: Path, failing_sheet: Sheet) -> None:
    target = tmp_path / "part.png"
    write_png(failing_sheet, target)
    assert target.read_bytes() == png_bytes(failing_sheet)
    assert list(tmp_path.iterdir()) == [target]


def test_needs_no_display_and_heeds_no_settings(tmp_path: Path) -> None:
    """An unknown window system, no home, and a settings file of the drawing library in the folder change no byte."""
    program = (
        "import sys\n"
        "from bracketgen.files.png import write_png\n"
        "from bracketgen.drawing.sheet import Label, Sheet, Stroke\n"
        "from bracketgen.geometry.plane import Point\n"
        "from pathlib import Path\n"
        "line = Stroke(tuple(Point(x, 50 + x % 3) for x in range(9, 200)), 0.4, dash_mm=(3.0, 1.0))\n"
        "write_png(Sheet(297.0, 210.0, (line, Label('no $display$', Point(9.0, 9.0), 5.0),)), Path(sys.argv[1]))\n"
        "assert not {'matplotlib.pyplot', 'matplotlib.figure'} & set(sys.modules)\n"
    )
    odd = "path.snap: False\npath.sketch: 5, 100, 2\nagg.path.chunksize: 101\ntext.hinting: none\nfont.family: serif\n"
    hostile = {k: v for k, v in os.environ.items() if k not in ("DISPLAY", "WAYLAND_DISPLAY")}
    hostile["PYTHONPATH"] = str(Path(__file__).parents[2])
    made = []
    nowhere = f"{os.devnull}/nowhere"
    for changes in ({}, {"MPLBACKEND": "no such backend", "MPLCONFIGDIR": nowhere, "HOME": nowhere}):
        target = tmp_path / "a.png"
        if changes:
            (tmp_path / "matplotlibrc").write_text(odd, encoding="utf-8")
        done = subprocess.run([sys.executable, "-W", "error", "-c", program, str(target)], env=hostile | changes,
                              cwd=tmp_path, capture_output=True, text=True, check=False)  # fmt: skip
        assert done.returncode == 0, done.stderr
        made.append(target.read_bytes())
        target.unlink()
    assert made[0] == made[1]
    with Image.open(io.BytesIO(made[0])) as image:
        assert image.size == (1600, 1131)


def test_white_on_dark_and_label_above_fill() -> None:
    """Labels are drawn last: a label listed before a fill still lies on top of it."""
    label = Label("HHHH", Point(50.0, 20.0), 12.0, WHITE, Weight.BOLD, Align.CENTRE)
    image = picture(label, Fill((box_ring(0.0, 0.0, 100.0, 50.0),), FAIL))
    assert WHITE in set(pixels(image))
