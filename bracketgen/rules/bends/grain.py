"""How a bend line lies to the rolling direction."""

from __future__ import annotations

import math
from typing import Final

from bracketgen.bending.flat import Strip
from bracketgen.geometry.plane import Point
from bracketgen.standards.metals import Grain

#: A bend line this near to the rolling direction, or nearer, counts as along it. Common practice, no source.
ALONG_DEG: Final = 45.0


def grain_of(strip: Strip, grain_deg: float | None) -> Grain:
    """Along, across or unknown; `grain_deg` as in the stock, anticlockwise from +x of the flat."""
    if grain_deg is None:
        return Grain.UNKNOWN
    heading = strip.placement.direction(Point(1.0, 0.0))
    apart = abs(math.degrees(math.atan2(heading.y, heading.x)) - grain_deg) % 180.0
    return Grain.ALONG if min(apart, 180.0 - apart) <= ALONG_DEG + 1e-9 else Grain.ACROSS
