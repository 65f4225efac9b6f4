"""The colours of a sheet: dark ink on off-white, one warm and one cool accent.

Up and down differ in hue, in lightness and in the dash of their lines, so that they can be told apart by a
colour-blind reader and on a grey print.
"""

from __future__ import annotations

from typing import Final

from bracketgen.part.part import Way

#: Red, green, blue, 0 to 255.
Colour = tuple[int, int, int]

PAPER: Final[Colour] = (248, 244, 234)
INK: Final[Colour] = (30, 34, 40)
FAINT: Final[Colour] = (104, 104, 100)
HAIR: Final[Colour] = (196, 190, 176)
DESCRIBED_FACE: Final[Colour] = (221, 226, 226)
OTHER_FACE: Final[Colour] = (150, 160, 170)
FAIL: Final[Colour] = (146, 18, 28)
WARN: Final[Colour] = (244, 190, 40)
WHITE: Final[Colour] = (255, 255, 255)

#: Line and tint of a bend, by way.
WAY_LINE: Final[dict[Way, Colour]] = {Way.UP: (176, 74, 6), Way.DOWN: (8, 84, 140)}
WAY_TINT: Final[dict[Way, Colour]] = {Way.UP: (246, 214, 184), Way.DOWN: (196, 220, 240)}
#: Lengths of dash and gap along a bend's centre line, mm: long-short for up, short only for down.
WAY_DASH: Final[dict[Way, tuple[float, ...]]] = {Way.UP: (4.0, 1.0, 1.0, 1.0), Way.DOWN: (1.8, 1.2)}


def shaded(colour: Colour, light: float) -> Colour:
    """The colour in `light` (0 = black, 1 = as it is)."""
    r, g, b = (max(0, min(255, round(c * light))) for c in colour)
    return (r, g, b)


def mixed(a: Colour, b: Colour, share: float) -> Colour:
    """A `share` (0 to 1) of `b` in `a`."""
    r, g, v = (round(x + (y - x) * share) for x, y in zip(a, b, strict=True))
    return (r, g, v)
