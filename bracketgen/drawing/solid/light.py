"""The colour of a surface: metal and bends in their own, brighter or darker as they lie to the light."""

from __future__ import annotations

from typing import Final

from bracketgen.drawing.paper.palette import DESCRIBED_FACE, OTHER_FACE, WAY_TINT, Colour, mixed, shaded
from bracketgen.drawing.solid.viewpoint import Viewpoint, dot
from bracketgen.geometry.frame import Vector
from bracketgen.part.bend import Way

#: Where the light comes from on the paper: left, above, from the eye.
_LIGHT: Final = (-0.30, 0.52, 0.80)


def lit(colour: Colour, out: Vector, view: Viewpoint) -> Colour:
    """The colour of a surface whose unit normal is `out`."""
    light = dot(out, view.right) * _LIGHT[0] + dot(out, view.up) * _LIGHT[1] + dot(out, view.toward) * _LIGHT[2]
    return shaded(colour, 0.76 + 0.26 * max(0.0, light))


def described_colour(way: Way | None) -> Colour:
    """The described face of a panel, or of a bend that turns that way."""
    return DESCRIBED_FACE if way is None else WAY_TINT[way]


def back_colour(way: Way | None) -> Colour:
    """The other face."""
    return OTHER_FACE if way is None else mixed(WAY_TINT[way], OTHER_FACE, 0.45)
