"""A sheet as a PNG picture, by Pillow, without a display and without matplotlib's drawing machinery.

Drawn three times as large and averaged down, which smooths every edge. matplotlib is only the place where the
DejaVu Sans font files lie; it is located, never imported. No date or other clock goes into the file.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterator, Sequence
from functools import cache
from importlib.util import find_spec
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Final

from bracketgen.drawing.paper.lettering import Weight
from bracketgen.drawing.sheet import Fill, Label, Reading, Sheet, Stroke
from bracketgen.geometry.point import Point
from bracketgen.writers.whole_file import write_whole

if TYPE_CHECKING:
    from PIL import Image, ImageDraw, ImageFont

#: Width of the picture; the height follows from the sheet.
WIDTH_PX: Final = 1600
_FINER: Final = 3
_MM_PER_INCH: Final = 25.4
#: The font files by weight.
FONTS: Final = {Weight.PLAIN: "DejaVuSans.ttf", Weight.BOLD: "DejaVuSans-Bold.ttf"}

Pixels = list[tuple[float, float]]


class FontMissing(RuntimeError):
    """The font files that come with matplotlib are not where they belong."""


def png_bytes(sheet: Sheet, width_px: int = WIDTH_PX) -> bytes:
    """The picture of a sheet, `width_px` wide; the same bytes for the same sheet. Raises FontMissing."""
    from PIL import Image

    big = _drawn(sheet, width_px * _FINER)
    height_px = round(width_px * sheet.height_mm / sheet.width_mm)
    small = big.resize((width_px, height_px), Image.Resampling.BOX)
    stream = io.BytesIO()
    dpi = width_px / sheet.width_mm * _MM_PER_INCH
    small.save(stream, "PNG", dpi=(dpi, dpi), compress_level=6)
    return stream.getvalue()


def write_png(sheet: Sheet, path: Path) -> None:
    """Write the picture whole or not at all. Raises OSError as the system gives it, and FontMissing."""
    write_whole(path, png_bytes(sheet))


def _drawn(sheet: Sheet, width_px: int) -> Image.Image:
    from PIL import Image, ImageDraw

    per_mm = width_px / sheet.width_mm
    height_px = round(width_px / _FINER * sheet.height_mm / sheet.width_mm) * _FINER
    image = Image.new("RGB", (width_px, height_px), sheet.paper)
    canvas = _Canvas(image, ImageDraw.Draw(image), per_mm, sheet.height_mm)
    for mark in sheet.marks:
        if isinstance(mark, Stroke):
            canvas.stroke(mark)
        elif isinstance(mark, Fill):
            canvas.fill(mark)
    for label in sheet.labels:
        canvas.label(label)
    return image


class _Canvas:
    """The picture while it is drawn; the only place where y turns from up to down."""

    def __init__(self, image: Image.Image, draw: ImageDraw.ImageDraw, per_mm: float, height_mm: float) -> None:
        self.image = image
        self.draw = draw
        self.per_mm = per_mm
        self.height_mm = height_mm

    def pixel(self, p: Point) -> tuple[float, float]:
        return (p.x * self.per_mm, (self.height_mm - p.y) * self.per_mm)

    def stroke(self, mark: Stroke) -> None:
        width = max(1, round(mark.width_mm * self.per_mm))
        for piece in dashes([self.pixel(p) for p in mark.points], [d * self.per_mm for d in mark.dash_mm]):
            self.draw.line(piece, mark.colour, width, joint="curve")
            if not mark.dash_mm and width > 2:
                self._round_ends(piece, width / 2, mark)

    def _round_ends(self, piece: Pixels, radius: float, mark: Stroke) -> None:
        for x, y in (piece[0], piece[-1]):
            self.draw.ellipse((x - radius, y - radius, x + radius, y + radius), mark.colour)

    def fill(self, mark: Fill) -> None:
        rings = [[self.pixel(p) for p in ring] for ring in mark.rings]
        if len(rings) == 1:
            self.draw.polygon(rings[0], mark.colour)
            return
        self._fill_open(rings, mark)

    def _fill_open(self, rings: Sequence[Pixels], mark: Fill) -> None:
        """A shape with holes, through a mask as large as the shape."""
        from PIL import Image, ImageDraw

        left, top = (math.floor(min(p[k] for p in rings[0])) - 1 for k in (0, 1))
        right, low = (math.ceil(max(p[k] for p in rings[0])) + 2 for k in (0, 1))
        mask = Image.new("1", (right - left, low - top), 0)
        pen = ImageDraw.Draw(mask)
        for number, ring in enumerate(rings):
            pen.polygon([(x - left, y - top) for x, y in ring], fill=int(number == 0))
        self.image.paste(mark.colour, (left, top), mask)

    def label(self, label: Label) -> None:
        font = _font(label.weight, label.size_mm * self.per_mm)
        x, y = self.pixel(label.at)
        back = font.getlength(label.text) * label.align.value
        if label.reading is Reading.LEVEL:
            self.draw.text((x - back, y), label.text, label.colour, font, anchor="ls")
        else:
            self._upright(label, font, (x, y + back))

    def _upright(self, label: Label, font: ImageFont.FreeTypeFont, foot: tuple[float, float]) -> None:
        """Text that runs from below to above: drawn level on a mask, which is then turned a quarter."""
        from PIL import Image, ImageDraw

        ascent, descent = font.getmetrics()
        width = math.ceil(font.getlength(label.text)) + 2
        mask = Image.new("L", (width, ascent + descent), 0)
        ImageDraw.Draw(mask).text((0, ascent), label.text, 255, font, anchor="ls")
        turned = mask.transpose(Image.Transpose.ROTATE_90)
        self.image.paste(label.colour, (round(foot[0]) - ascent, round(foot[1]) - width), turned)


def dashes(points: Pixels, pattern: Sequence[float]) -> Iterator[Pixels]:
    """The chain cut into the drawn pieces of a dash pattern (dash, gap, dash, gap ...); whole without a pattern."""
    if not pattern:
        yield points
        return
    left, which = pattern[0], 0
    piece: Pixels = [points[0]]
    for (ax, ay), (bx, by) in pairwise(points):
        length, gone = math.hypot(bx - ax, by - ay), 0.0
        while gone + left < length:
            gone += left
            at = (ax + (bx - ax) * gone / length, ay + (by - ay) * gone / length)
            if which % 2 == 0:
                yield [*piece, at]
            piece = [at]
            which += 1
            left = pattern[which % len(pattern)]
        left -= length - gone
        piece.append((bx, by))
    if which % 2 == 0 and len(piece) > 1:
        yield piece


@cache
def _font(weight: Weight, size_px: float) -> ImageFont.FreeTypeFont:
    from PIL import ImageFont

    path = font_folder() / FONTS[weight]
    try:
        return ImageFont.truetype(str(path), size_px, layout_engine=ImageFont.Layout.BASIC)
    except OSError:
        raise FontMissing(f"{path.name} can't be read; install matplotlib again") from None


@cache
def font_folder() -> Path:
    """Where the font files lie. Raises FontMissing."""
    spec = find_spec("matplotlib")
    if spec is None or not spec.submodule_search_locations:
        raise FontMissing("matplotlib, which carries the fonts, is not installed")
    return Path(spec.submodule_search_locations[0]) / "mpl-data" / "fonts" / "ttf"
