"""A model in space as values: plain coloured triangle meshes, mm; knows no file format."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterator
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

    def from_zero(self) -> Mesh:
        """The mesh moved so that the least x, y and z of its points are 0."""
        x, y, z = (min(p[k] for p in self.points) for k in range(3))
        return replace(self, points=tuple((p[0] - x, p[1] - y, p[2] - z) for p in self.points))

    def held_as(self, held: Callable[[Vector], Vector]) -> Mesh:
        """The mesh with its points as a file holds them.

        Points that fall together become one, and triangles that lose a side by that are left out.
        """
        place: dict[Vector, int] = {}
        new = [place.setdefault(held(p), len(place)) for p in self.points]
        moved = ((new[a], new[b], new[c]) for a, b, c in self.triangles)
        return replace(self, points=tuple(place), triangles=tuple(t for t in moved if len(set(t)) == 3))

    def open_edges(self) -> list[tuple[int, int]]:
        """Edges that aren't run along exactly once each way: none in a closed surface with one outside."""
        runs = Counter((t[i], t[(i + 1) % 3]) for t in self.triangles for i in range(3))
        return [(a, b) for (a, b), n in runs.items() if n != 1 or runs[(b, a)] != 1]
