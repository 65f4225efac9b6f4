"""A bend that cannot be worked out as asked, and what would put it right."""

from __future__ import annotations

from math import isfinite
from typing import Final

#: Sharpest bend that a part may have: turned this far from flat. Beyond it lie hems and curls, another trade.
LARGEST_TURN_DEG: Final = 135.0


class BendFault(ValueError):
    """`what` says what was given and why it cannot be used; `cure` says what can."""

    def __init__(self, what: str, cure: str = "") -> None:
        self.what = what
        self.cure = cure
        super().__init__(f"{what}; {cure}" if cure else what)


def check_stock(inside_radius_mm: float, thickness_mm: float) -> None:
    """Refuse a thickness that is not above 0 or an inside radius below 0 (mm); raises BendFault."""
    if not (isfinite(thickness_mm) and thickness_mm > 0.0):
        raise BendFault(f"a thickness of {thickness_mm:g} mm cannot be bent", "give a thickness above 0 mm")
    if not (isfinite(inside_radius_mm) and inside_radius_mm >= 0.0):
        raise BendFault(f"an inside radius of {inside_radius_mm:g} mm does not exist", "give 0 mm or more")


def check_turn(turn_deg: float, most_deg: float = LARGEST_TURN_DEG) -> None:
    """Refuse a turn outside 0 < turn <= `most_deg` (degrees from flat); raises BendFault."""
    if isfinite(turn_deg) and 0.0 < turn_deg <= most_deg:
        return
    raise BendFault(
        f"a turn of {turn_deg:g} deg is outside the range of this formula",
        f"give the degrees turned from flat, above 0 and up to {most_deg:g} (90 = square)",
    )
