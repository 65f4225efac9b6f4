"""A model in space as values: plain coloured triangle meshes, mm; knows no file format."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum

from bracketgen.drawing.paper.palette import Colour
from bracketgen.geometry.frame import Frame, Vector
from bracketgen.geometry.triangles import Triangle
from bracketgen.geometry.vector import cross, dot


class Finish(StrEnum):
    """`SOLID`: can't be seen through. `GHOST`: can, such as the room that a moving thing takes."""

    SOLID = "solid"
    GHOST = "ghost"


@dataclass(frozen=True, slots=True)
class Mesh:
    """A closed surface: `points` in mm, `triangles` as places in `points`, anticlockwise seen from outside."""

    name: str
    colour: Colour
    points: tuple[Vector, ...]
    triangles: tuple[Triangle, ...]
    finish: Finish = Finish.SOLID

    @property
    def volume_mm3(self) -> float:
        """Enclosed volume (divergence theorem)."""
        return math.fsum(dot(a, cross(b, c)) for a, b, c in self._corners()) / 6

    def _corners(self) -> Iterator[tuple[Vector, Vector, Vector]]:
        return ((self.points[a], self.points[b], self.points[c]) for a, b, c in self.triangles)

    def moved(self, frame: Frame) -> Mesh:
        """The mesh, given in `frame`, as seen from outside `frame`."""
        return replace(self, points=tuple(map(frame.point, self.points)))
