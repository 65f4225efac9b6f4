"""A flat region of the part with its own frame."""

from __future__ import annotations

from dataclasses import dataclass

from bracketgen.geometry.contour import Contour
from bracketgen.geometry.line import Line
from bracketgen.geometry.point import Point
from bracketgen.part.hole import Hole
from bracketgen.part.weld import Weld


@dataclass(frozen=True, slots=True)
class Pad:
    """The round of metal around a hole or a group's point, mm."""

    centre: Point
    radius_mm: float


@dataclass(frozen=True, slots=True)
class Panel:
    """Flat metal up to the tangent lines of its bends, seen on its described face, mm.

    `outline` is anticlockwise; everything inside it that is not metal is in `holes`.
    """

    id: str
    outline: Contour
    holes: tuple[Hole, ...] = ()
    marks: tuple[Line, ...] = ()
    welds: tuple[Weld, ...] = ()
