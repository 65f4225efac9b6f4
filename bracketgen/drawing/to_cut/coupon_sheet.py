"""The test strip's cut file."""

from __future__ import annotations

from bracketgen.drawing.to_cut.cut_sheet import Chain, CutSheet
from bracketgen.shop.coupon import Coupon


def coupon_sheet(strip: Coupon, name: str) -> CutSheet:
    """A rectangle, long side level, whose upper right corner is cut off: so seen, the upper face lies up.

    Turned over, the cut corner stands at the upper left or the lower right. Nothing is cut where it is bent.
    """
    long, wide, off = strip.length_mm, strip.width_mm, strip.corner_mm
    points = ((0.0, 0.0), (long, 0.0), (long, wide - off), (long - off, wide), (0.0, wide))
    return CutSheet(name, (), (Chain(tuple((x, y, 0.0) for x, y in points)),))
