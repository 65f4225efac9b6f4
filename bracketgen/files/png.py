"""A sheet as a PNG picture, by the Agg renderer of matplotlib, without a display, a figure or axes.

Everything is drawn as paths: letters as the outlines of the font, at the places that sheets are laid out by. Neither a
settings file of matplotlib nor a clock has any say in it.
"""

from __future__ import annotations

import io
import os
from collections.abc import Sequence
from functools import cache
from pathlib import Path as FilePath
from typing import Final

import numpy as np
import numpy.typing as npt

from bracketgen.drawing.marks.lettering import Weight, advance, drawable, font_path, text_width_mm
from bracketgen.drawing.sheet import Colour, Fill, Label, Sheet, Stroke, TextDirection
from bracketgen.files.disk import write_whole
from bracketgen.geometry.plane import Point
from bracketgen.units import INCH_MM

# matplotlib stops at an unknown name of a window system, though no window is ever opened here.
_window_system = os.environ.pop("MPLBACKEND", None)
try:
    import matplotlib.backends.backend_agg as agg
    from matplotlib.font_manager import FontProperties
    from matplotlib.path import Path
    from matplotlib.textpath import text_to_path
    from matplotlib.transforms import Affine2D
    from PIL import Image
    from PIL.PngImagePlugin import PngInfo
finally:
    if _window_system is not None:
        os.environ["MPLBACKEND"] = _window_system

#: Width of the picture; the height follows from the sheet.
WIDTH_PX: Final = 1600
#: Higher levels take up to six times as long and save at most 4 % (own choice, measured on two pictures).
_PACKING: Final = 3
#: So many colours a palette holds, and of these so many of a sheet's own; colours no farther apart than this in red,
#: green and blue are alike. With a palette a picture takes less than half of the bytes, and no longer (own choice).
_COLOURS: Final = 256
_OWN_COLOURS: Final = 150
_ALIKE: Final = 4
#: At this resolution the renderer's points are pixels.
_POINTS_PER_INCH: Final = 72
#: An outline of this width around every shape, so that nothing shines through between shapes that share an edge: each
#: covers half a pixel of the other (own choice; at 0.3 px the joints of a shaded body were still seen).
_OVERLAP_PX: Final = 1.0

Outline = tuple[npt.NDArray[np.float64], npt.NDArray[np.uint8]]


def png_bytes(sheet: Sheet, width_px: int = WIDTH_PX, stamp: str = "") -> bytes:
    """The picture of a sheet, `width_px` wide; `stamp` stands in it as a text that no viewer shows.

    The same bytes for the same sheet and libraries. Raises FontMissing.
    """
    per_mm = width_px / sheet.width_mm
    height_px = round(sheet.height_mm * per_mm)
    pen = _Pen(agg.RendererAgg(width_px, height_px, _POINTS_PER_INCH), per_mm, height_px - sheet.height_mm * per_mm)
    pen.fill(sheet.ground)
    for mark in sheet.marks:
        if isinstance(mark, Stroke):
            pen.stroke(mark)
        elif isinstance(mark, Fill):
            pen.fill(mark)
    for label in sheet.labels:
        pen.label(label)
    stream = io.BytesIO()
    image = Image.frombuffer("RGBA", (width_px, height_px), pen.renderer.buffer_rgba(), "raw", "RGBA", 0, 1)
    dpi = per_mm * INCH_MM
    few = _in_few_colours(image, [sheet.paper, *dict.fromkeys(m.colour for m in sheet.marks)])
    info = PngInfo()
    if stamp:
        info.add_text("Comment", stamp)
    few.save(stream, "PNG", dpi=(dpi, dpi), compress_level=_PACKING, pnginfo=info)
    return stream.getvalue()


def _in_few_colours(image: Image.Image, own: Sequence[Colour]) -> Image.Image:
    """The picture with a palette: its marks' colours as they are, and for the mixtures at their edges what is near."""
    values = image.quantize(_COLOURS, method=Image.Quantize.FASTOCTREE, dither=Image.Dither.NONE).getpalette() or []
    found = zip(values[::3], values[1::3], values[2::3], strict=True)
    kept = own[:_OWN_COLOURS]
    # A mixture beside a mark's colour would draw that colour to itself.
    apart = [c for c in found if all(max(abs(a - b) for a, b in zip(c, k, strict=True)) > _ALIKE for k in kept)]
    palette = Image.new("P", (1, 1))
    palette.putpalette([value for colour in [*kept, *apart][:_COLOURS] for value in colour])
    return image.convert("RGB").quantize(palette=palette, dither=Image.Dither.NONE)


def write_png(sheet: Sheet, path: FilePath) -> None:
    """Write the picture whole or not at all. Raises OSError as the system gives it, and FontMissing."""
    write_whole(path, png_bytes(sheet))


class _Pen:
    """Draws marks in millimetres on the renderer, whose pixels count from the lower left too."""

    def __init__(self, renderer: agg.RendererAgg, per_mm: float, foot_px: float) -> None:
        self.renderer = renderer
        self._per_mm = per_mm
        self._to_pixels = Affine2D.from_values(per_mm, 0.0, 0.0, per_mm, 0.0, foot_px)

    def stroke(self, mark: Stroke) -> None:
        """A solid line has round ends; a dashed one keeps its pattern with square ends."""
        path = _path([mark.points[:-1] if mark.closed else mark.points], mark.closed)
        self._draw(path, mark.colour, mark.width_mm * self._per_mm, [d * self._per_mm for d in mark.dash_mm])

    def fill(self, mark: Fill) -> None:
        """The first ring is turned one way and the others the other, which leaves these open."""
        rings = [r if (_area(r) > 0.0) == (i == 0) else r[::-1] for i, r in enumerate(mark.rings)]
        self._draw(_path(rings, shut=True), mark.colour, _OVERLAP_PX, filled=True)

    def label(self, label: Label) -> None:
        """The letters of a label, each at its own width behind the one before."""
        text = drawable(label.text, label.weight)
        # The blank in front stands for a label without letters.
        shapes: list[Outline] = [_outline(" ", label.weight)]
        along = -label.align.value * text_width_mm(text, 1.0, label.weight)
        for letter in text:
            points, codes = _outline(letter, label.weight)
            shapes.append((points + np.array((along, 0.0)), codes))
            along += advance(letter, label.weight)
        place = Affine2D().scale(label.size_mm)
        if label.reading is TextDirection.UPRIGHT:
            place.rotate_deg(90.0)
        vertices = np.concatenate([points for points, _ in shapes])
        path = Path(place.translate(*label.at).transform(vertices), np.concatenate([codes for _, codes in shapes]))
        self._draw(path, label.colour, 0.0, filled=True)

    def _draw(
        self, path: Path, colour: Colour, width_px: float, dash_px: Sequence[float] = (), filled: bool = False
    ) -> None:
        path.should_simplify = False
        pen = self.renderer.new_gc()
        red, green, blue = (c / 255.0 for c in colour)
        pen.set_foreground((red, green, blue, 1.0), isRGBA=True)
        pen.set_linewidth(width_px)
        pen.set_joinstyle("round")
        pen.set_capstyle("butt" if dash_px else "round")
        pen.set_snap(False)
        if dash_px:
            pen.set_dashes(0.0, dash_px)
        self.renderer.draw_path(pen, path, self._to_pixels, (red, green, blue) if filled else None)
        pen.restore()


def _path(chains: Sequence[Sequence[Point]], shut: bool) -> Path:
    """Lines through the points of each chain, and back to its first one where it is shut."""
    codes: list[np.uint8] = []
    points: list[Point] = []
    for chain in chains:
        points += chain
        codes += [Path.MOVETO, *[Path.LINETO] * (len(chain) - 1)]
        if shut:
            points.append(chain[0])
            codes.append(Path.CLOSEPOLY)
    return Path(points, codes)


def _area(ring: Sequence[Point]) -> float:
    """Twice the area within, positive when the ring runs anticlockwise."""
    return sum(a.x * b.y - b.x * a.y for a, b in zip(ring, (*ring[1:], ring[0]), strict=True))


@cache
def _outline(letter: str, weight: Weight) -> Outline:
    """A letter as a path at the size 1. Raises FontMissing."""
    points, codes = text_to_path.get_text_path(FontProperties(fname=font_path(weight)), letter)
    return np.reshape(points, (-1, 2)) / text_to_path.FONT_SCALE, np.array(codes, dtype=np.uint8)
