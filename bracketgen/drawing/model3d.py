"""A model in space as values: plain coloured triangle meshes, mm; knows no file format."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import StrEnum

from bracketgen.drawing.paper.palette import Colour
from bracketgen.geometry.frame import Frame, Vector
from bracketgen.geometry.triangles import Triangle


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
        return math.fsum(_triple(*(self.points[i] for i in t)) for t in self.triangles) / 6

    def moved(self, frame: Frame) -> Mesh:
        """The mesh, given in `frame`, as seen from outside `frame`."""
        return replace(self, points=tuple(map(frame.point, self.points)))


def _triple(a: Vector, b: Vector, c: Vector) -> float:
    """Volume of the box that three directions span."""
    x = b[1] * c[2] - b[2] * c[1]
    y = b[2] * c[0] - b[0] * c[2]
    z = b[0] * c[1] - b[1] * c[0]
    return a[0] * x + a[1] * y + a[2] * z
