"""Located holes in a plane: one face seen square from outside, or the whole site seen from one side."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from typing import Final

import numpy as np

from bracketgen.drawing.sheet import Colour
from bracketgen.geometry.arrays import Floats
from bracketgen.geometry.plane import Point
from bracketgen.geometry.space import Vector
from bracketgen.vehicle.locate.locate import Located, LocatedHole, Residual, is_loose

# -- how well a reading agrees with the others: colour, dash and width, so that each shows without the others

#: A residual beyond this many of its own standard deviations deserves a look (5 % of good readings do).
_LOOK = 1.96


@dataclass(frozen=True, slots=True)
class Pen:
    """How the readings of a grade are drawn, and what the legend says."""

    colour: Colour
    width_mm: float
    dash_mm: tuple[float, ...]
    words: str


class Grade(Enum):
    """Teal, amber and dark magenta differ in lightness too; grey is for what nothing checks."""

    AGREES = Pen((0, 104, 110), 0.35, (), "agrees")
    LOOK = Pen((196, 124, 0), 0.6, (4.0, 1.2), "off by more than 2 of its own")
    WRONG = Pen((134, 0, 84), 1.1, (1.6, 1.0), "looks wrong")
    UNCHECKED = Pen((120, 120, 116), 0.35, (0.6, 1.1), "nothing checks it")


def grade_of(located: Located, reading: int) -> Grade:
    """The grade of one reading."""
    if reading == located.suspect or reading in located.suspect_alike:
        return Grade.WRONG
    w = located.residuals[reading].w
    if w is None:
        return Grade.UNCHECKED
    return Grade.LOOK if abs(w) > _LOOK else Grade.AGREES


# -- the plans

#: Two unknowns: the 95 % ellipse is this many times that of one standard deviation (chi-square with two degrees of
#: freedom has the closed form 1 - exp(-x / 2)).
_TO_95: Final = math.sqrt(-2.0 * math.log(0.05))
#: Where the site is seen from when all of it is shown: to the right of -y and above.
_AZIMUTH_DEG: Final = -32.0
_HEIGHT_DEG: Final = 28.0


@dataclass(frozen=True, slots=True)
class DrawnHole:
    """A hole in the plane, mm: its name there, radius, and one-sigma-to-95 % half axes of its ellipse."""

    id: str
    label: str
    at: Point
    radius: float
    long_axis: Point
    short_axis: Point
    loose: bool


@dataclass(frozen=True, slots=True)
class ReadingLine:
    """A reading drawn as a line between two places of the plane, mm; `numbered` where it stands out."""

    reading: int
    start: Point
    end: Point
    grade: Grade
    numbered: bool


@dataclass(frozen=True, slots=True)
class HolePlan:
    """What one panel of the picture shows; `sides` are faces as chains of points, `pointers` their normals."""

    title: str
    drawn: tuple[DrawnHole, ...]
    lines: tuple[ReadingLine, ...]
    sides: tuple[tuple[Point, ...], ...] = ()
    pointers: tuple[tuple[Point, Point, str], ...] = ()

    def points(self) -> list[Point]:
        """Every place that has to find room, without ellipses."""
        ends = [p for line in self.lines for p in (line.start, line.end)]
        tips = [p for a, b, _ in self.pointers for p in (a, b)]
        return [s.at for s in self.drawn] + ends + tips


def face_plan(located: Located, face: str) -> HolePlan:
    """One face seen from outside, its x to the right, with the readings between its own holes."""
    frame = located.faces[face]
    look = np.array([frame.x, frame.y])
    flat = _flat(look, frame.origin)
    holes = [h for h in located.holes if h.face == face]
    lines = [r for r in _reading_lines(located, flat) if _within(located.residuals[r.reading], face)]
    drawn = [_hole(located, h, look, flat, h.id.split(".", 1)[1]) for h in holes]
    return HolePlan(f"face {face}, seen from outside", tuple(drawn), tuple(lines))


def whole_plan(located: Located) -> HolePlan:
    """All faces seen from one side, with the readings from face to face."""
    a, e = math.radians(_AZIMUTH_DEG), math.radians(_HEIGHT_DEG)
    right = (math.cos(a), math.sin(a), 0.0)
    up = (math.sin(a) * math.sin(e) * -1.0, math.cos(a) * math.sin(e), math.cos(e))
    look = np.array([right, up])
    flat = _flat(look, (0.0, 0.0, 0.0))
    lines = [
        r
        for r in _reading_lines(located, flat)
        if not any(_within(located.residuals[r.reading], f) for f in located.faces)
    ]
    drawn = [_hole(located, h, look, flat, h.id) for h in located.holes]
    size = _size(located)
    sides, pointers = [], []
    for face, frame in located.faces.items():
        on = np.array([h.centre for h in located.holes if h.face == face])
        sides.append(tuple(flat(_vector(p)) for p in _belt(on, np.array([frame.x, frame.y]))))
        middle = on.mean(axis=0)
        tip = middle + 0.16 * size * np.array(frame.z)
        pointers.append((flat(_vector(middle)), flat(_vector(tip)), face))
    return HolePlan(
        "all faces, seen from the right of -y and above",
        tuple(drawn),
        tuple(lines),
        tuple(sides),
        tuple(pointers),
    )


def _size(located: Located) -> float:
    points = np.array([h.centre for h in located.holes])
    return max(1.0, float(np.ptp(points, axis=0).max()))


def _vector(p: Floats) -> Vector:
    return (float(p[0]), float(p[1]), float(p[2]))


def _flat(look: Floats, origin: Vector) -> Callable[[Vector], Point]:
    def flat(place: Vector) -> Point:
        x, y = look @ (np.array(place) - np.array(origin))
        return Point(float(x), float(y))

    return flat


def _hole(located: Located, hole: LocatedHole, look: Floats, flat: Callable[[Vector], Point], label: str) -> DrawnHole:
    covariance = look @ located.covariance_of(hole.id) @ look.T
    sizes, ways = np.linalg.eigh(covariance)
    axes = np.sqrt(np.maximum(sizes, 0.0)) * _TO_95
    short, long = (Point(float(ways[0, k] * axes[k]), float(ways[1, k] * axes[k])) for k in (0, 1))
    radius = (hole.diameter_mm or 0.0) / 2.0
    return DrawnHole(hole.id, label, flat(hole.centre), radius, long, short, is_loose(located, hole.id))


def _within(reading: Residual, face: str) -> bool:
    """Whether a reading joins holes of one face only."""
    return all(end.startswith(f"{face}.") for end in reading.ends)


def _reading_lines(located: Located, flat: Callable[[Vector], Point]) -> list[ReadingLine]:
    lines = []
    for reading in located.residuals:
        ends = _ends(located, reading)
        if ends is not None:
            grade = grade_of(located, reading.reading)
            # One wrong reading pulls others along: then only it is named.
            stands_out = grade is Grade.WRONG or (grade is Grade.LOOK and located.suspect is None)
            lines.append(ReadingLine(reading.reading, flat(ends[0]), flat(ends[1]), grade, stands_out))
    return lines


def _ends(located: Located, reading: Residual) -> tuple[Vector, Vector] | None:
    """Between which places a reading is drawn; a tilt between faces has none."""
    if reading.kind in ("distance", "level"):
        return located.hole(reading.ends[0]).centre, located.hole(reading.ends[1]).centre
    if reading.kind == "square":
        hole, a, b = (np.array(located.hole(name).centre) for name in reading.ends)
        share = float((hole - a) @ (b - a)) / float((b - a) @ (b - a))
        return _vector(hole), _vector(a + share * (b - a))
    if reading.kind == "step":
        frame = located.faces[reading.ends[1]]
        hole = np.array(located.hole(reading.ends[0]).centre)
        height = float((hole - np.array(frame.origin)) @ np.array(frame.z))
        return _vector(hole), _vector(hole - height * np.array(frame.z))
    return None


def _belt(points: Floats, axes: Floats) -> list[Floats]:
    """The outermost of a face's holes, in order around (gift wrapping in the face's own plane)."""
    flat = points @ axes.T
    if len(points) < 3:
        return list(points)
    around = [int(np.lexsort((flat[:, 1], flat[:, 0]))[0])]
    while len(around) <= len(points):
        here = flat[around[-1]]
        ahead = (around[-1] + 1) % len(flat)
        for n in range(len(flat)):
            a, b = flat[ahead] - here, flat[n] - here
            turn = float(a[0] * b[1] - a[1] * b[0])
            if turn < -1e-9 or (abs(turn) <= 1e-9 and float(b @ b) > float(a @ a)):
                ahead = n
        if ahead == around[0]:
            break
        around.append(ahead)
    return [points[n] for n in (*around, around[0])]
