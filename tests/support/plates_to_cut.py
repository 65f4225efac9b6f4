"""Plates as chains of a cut file, for tests of what is written and linted."""

from __future__ import annotations

from math import cos, radians, sin, tan

from bracketgen.drawing.cut_sheet import Chain

#: Bulge of a quarter round: tan of a quarter of its 90 degrees (DXF Reference).
QUARTER = tan(radians(22.5))


def rounded_rectangle(x0: float, y0: float, w: float, h: float, r: float, turn_deg: float = 0.0) -> Chain:
    """Counter-clockwise from the lower edge, turned about the origin."""
    x1, y1 = x0 + w, y0 + h
    corners = (
        (x0 + r, y0, 0.0),
        (x1 - r, y0, QUARTER),
        (x1, y0 + r, 0.0),
        (x1, y1 - r, QUARTER),
        (x1 - r, y1, 0.0),
        (x0 + r, y1, QUARTER),
        (x0, y1 - r, 0.0),
        (x0, y0 + r, QUARTER),
    )
    c, s = cos(radians(turn_deg)), sin(radians(turn_deg))
    return Chain(tuple((x * c - y * s, x * s + y * c, b) for x, y, b in corners))
