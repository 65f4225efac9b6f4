"""The plate that the faulty drawings are made of, in a general library's document, and its figures by hand."""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Any

import ezdxf

#: tan of a quarter of a quarter turn; group 42 of a rounded corner.
QUARTER = math.tan(math.pi / 8)
WIDE, HIGH, CORNER = 120.0, 80.0, 8.0
HOLES = ((15.0, 20.0, 4.5), (105.0, 20.0, 4.5))
WINDOW = ((40.0, 40.0), (80.0, 40.0), (80.0, 60.0), (40.0, 60.0))
OUTLINE_AREA = WIDE * HIGH - (4.0 - math.pi) * CORNER**2
AREA = OUTLINE_AREA - 40.0 * 20.0 - 2.0 * math.pi * 4.5**2
OUTLINE_LENGTH = 2.0 * (WIDE + HIGH) - 8.0 * CORNER + 2.0 * math.pi * CORNER
LENGTH = OUTLINE_LENGTH + 120.0 + 2.0 * math.pi * 9.0

Points = Sequence[Sequence[float]]
VERSIONS = ("R12", "R2000", "R2004", "R2007", "R2010", "R2013", "R2018")
NEW = ("R2000", "R2010", "R2018")
CUT = {"layer": "CUT"}


def outline(x: float = 0.0, y: float = 0.0, w: float = WIDE, h: float = HIGH, r: float = CORNER) -> Points:
    """Points (x, y, bulge) of a rectangle with rounded corners, from its lower left corner."""
    k = QUARTER
    return [(x + r, y, 0), (x + w - r, y, k), (x + w, y + r, 0), (x + w, y + h - r, k), (x + w - r, y + h, 0),
            (x + r, y + h, k), (x, y + h - r, 0), (x, y + r, k)]  # fmt: skip


class Plate:
    """The plate as a library document, without what a fault leaves out."""

    def __init__(self, version: str, *without: str, units: int = 4, scale: float = 1.0) -> None:
        self.doc: Any = ezdxf.new(version, units=units)
        self.doc.header["$MEASUREMENT"] = 1
        self.space = self.doc.modelspace()
        self.doc.layers.add("CUT")
        self.scale = scale
        if "outline" not in without:
            self.chain(outline())
        if "window" not in without:
            self.chain([(*p, 0) for p in WINDOW])
        for n, (x, y, r) in enumerate(HOLES, 1):
            if f"hole {n}" not in without:
                self.circle(x, y, r)

    def chain(self, points: Points, close: bool = True, **more: Any) -> Any:
        """A polyline of the version's own kind through (x, y, bulge)."""
        k = self.scale
        made = [(p[0] * k, p[1] * k, p[2]) for p in points]
        if self.doc.dxfversion == "AC1009":
            return self.space.add_polyline2d(made, format="xyb", close=close, dxfattribs=CUT | more)
        return self.space.add_lwpolyline(made, format="xyb", close=close, dxfattribs=CUT | more)

    def circle(self, x: float, y: float, r: float, **more: Any) -> Any:
        """A circle."""
        k = self.scale
        return self.space.add_circle((x * k, y * k), r * k, dxfattribs=CUT | more)

    def line(self, *ends: Sequence[float], **more: Any) -> Any:
        """A line."""
        return self.space.add_line(*ends, dxfattribs=CUT | more)

    def lines(self, points: Points) -> None:
        """Loose lines through points."""
        for a, b in pairwise(points):
            self.line(a, b)

    @property
    def data(self) -> bytes:
        """The file."""
        stream = io.StringIO()
        self.doc.write(stream)
        return stream.getvalue().encode(self.doc.encoding, errors="replace")
