"""Closed triangle meshes, mm, and the mesh of a part's skin; knows no file format.

Every edge of a skin is divided once, and both faces beside it take the same points: the mesh closes as the skin does.
All points lie on the true surface, and no triangle strays farther from it than the chord error.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import pairwise
from typing import Final

from bracketgen.bending.fold import Folded
from bracketgen.drawing.sheet import DESCRIBED_FACE, Colour
from bracketgen.drawing.solid.skin import Face, Plane, Skin, Turn, skin_of
from bracketgen.errors import GeometryFault
from bracketgen.geometry.plane import Point
from bracketgen.geometry.prism import Triangle, triangles
from bracketgen.geometry.space import Frame, Vector, cross, dot, minus

#: Chord error of the folded part's own mesh, mm: a tenth of a usual layer of 0.2 mm (common practice, no source).
CHORD_MM: Final = 0.02
#: What stands in the files that are made for printing; the first must fit an STL's header.
FACETS: Final = f"facets within {CHORD_MM:g} mm of the true surface"
MOCK_UP: Final = "A print is for trying the fit: it carries no load and stands no heat."
#: An arc is divided into at least so many pieces, so that each piece of a round face has a straight side in common
#: with one end of the face at most.
_LEAST_PIECES: Final = 2
#: What rounding may add to a number of pieces: arcs alike in radius and turn are to be divided alike.
_NOISE: Final = 1e-6


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
        corners = ((self.points[a], self.points[b], self.points[c]) for a, b, c in self.triangles)
        return math.fsum(dot(a, cross(b, c)) for a, b, c in corners) / 6

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


@dataclass(frozen=True, slots=True)
class FoldedModel:
    """The closed skin of a part, and the mesh that every face of it gave."""

    skin: Skin
    mesh: Mesh
    cautions: tuple[str, ...]

    @property
    def about(self) -> str:
        """What a reader of a printable file should know."""
        return " ".join((f"{FACETS[0].upper()}{FACETS[1:]}.", MOCK_UP, *self.cautions))


def folded_model(folded: Folded, name: str) -> FoldedModel:
    """The part's model. Raises GeometryFault where the metal crosses or touches itself, so that it is no solid."""
    skin = skin_of(folded)
    loose = skin.open_rims()
    if loose:
        x, y, z = skin.corners[skin.rims[loose[0]].start]
        what = f"the folded part touches itself at ({x:.2f}, {y:.2f}, {z:.2f}) mm"
        raise GeometryFault(what, cure="leave a gap between its panels")
    return FoldedModel(skin, skin_mesh(skin, name, DESCRIBED_FACE), folded.part.cautions)


def skin_mesh(skin: Skin, name: str, colour: Colour, *, chord_mm: float = CHORD_MM) -> Mesh:
    """The skin's mesh, no farther than `chord_mm` (> 0) from the true surface.

    Raises GeometryFault for a face whose loops touch or cross each other.
    """
    if not chord_mm > 0.0:
        raise ValueError(f"chord error {chord_mm} mm: must be above 0")
    divided = Divided(skin, chord_mm)
    made: list[Triangle] = []
    for face in skin.faces:
        if isinstance(face.surface, Plane):
            made += _flat(divided, face, face.surface)
        else:
            for tip, *others in divided.slices(face):
                made += [(tip, a, b) for a, b in pairwise(others)]
    return Mesh(name, colour, tuple(divided.points), tuple(made))


def pieces_of(radius: float, sweep_rad: float, chord_mm: float) -> int:
    """Into how many pieces an arc is divided so that none strays farther than `chord_mm` from it."""
    half = math.acos(1.0 - chord_mm / radius) if chord_mm < radius else math.pi / 2
    return max(_LEAST_PIECES, math.ceil(sweep_rad / (2.0 * half) - _NOISE))


class Divided:
    """A skin with its round edges divided: `points` begin with its corners, `chains` are the places along each rim."""

    def __init__(self, skin: Skin, chord_mm: float, bend_chord_mm: float = math.inf) -> None:
        """No chord strays farther than `chord_mm` from its arc, and none of a bend farther than `bend_chord_mm`."""
        bends = {n for f in skin.faces if f.way for n, _ in f.loops[0]} if bend_chord_mm < chord_mm else set()
        self.skin = skin
        self.points = list(skin.corners)
        self.chains: list[list[int]] = []
        for n, rim in enumerate(skin.rims):
            first = len(self.points)
            if rim.centre is not None:
                sweep = skin.sweep_rad(rim)
                count = pieces_of(rim.radius, sweep, bend_chord_mm if n in bends else chord_mm)
                self.points += [skin.at(rim, sweep * i / count) for i in range(1, count)]
            self.chains.append([rim.start, *range(first, len(self.points)), rim.end])

    def along(self, turn: Turn) -> list[int]:
        """The places along an edge, run through either way."""
        chain = self.chains[turn[0]]
        return chain if turn[1] > 0 else chain[::-1]

    def ring(self, loop: Sequence[Turn]) -> list[int]:
        """The places round a loop without the first again."""
        return [i for turn in loop for i in self.along(turn)[:-1]]

    def slices(self, face: Face) -> Iterator[list[int]]:
        """A round face, between two arcs alike and the straight edges that join their ends, as one flat ring a piece.

        A fan from a ring's first corner is sound: marks on the straight edges at the ends are seen from there.
        """
        (loop,) = face.loops
        first, second = (n for n, (rim, _) in enumerate(loop) if self.skin.rims[rim].centre is not None)
        near, far = self.along(loop[first]), self.along(loop[second])
        before = self.ring([*loop[second + 1 :], *loop[:first]])[1:]
        after = self.ring(loop[first + 1 : second])[1:]
        count = len(near) - 1
        for i in range(count):
            a, b, c, d = near[i], near[i + 1], far[count - i - 1], far[count - i]
            if i == 0:
                yield [b, c, d, *before, a]
            elif i == count - 1:
                yield [a, b, *after, c, d]
            else:
                yield [a, b, c, d]


def _flat(divided: Divided, face: Face, plane: Plane) -> list[Triangle]:
    across = cross(plane.normal, plane.along)
    rings = [divided.ring(loop) for loop in face.loops]
    offs = [[minus(divided.points[i], plane.origin) for i in ring] for ring in rings]
    places = [i for ring in rings for i in ring]
    try:
        flat = triangles([[Point(dot(d, plane.along), dot(d, across)) for d in ring] for ring in offs])
    except GeometryFault as fault:
        raise GeometryFault(
            "holes touch or cross each other or the outline", cure="leave metal between them"
        ) from fault
    return [(places[a], places[b], places[c]) for a, b, c in flat]
